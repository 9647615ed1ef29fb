// The form of a video: it goes into this tablet's store and from there to the practice. Where the tablet has no room for
// it, the browser sends the form as it stands.
import { keep } from "./film.js";

/** Shows how far it is. */
function show(words, share) {
  document.getElementById("upload").hidden = false;
  document.getElementById("upload-words").textContent = words;
  document.getElementById("upload-progress").value = share;
}

/** Leaving the page while the tablet still reads the file is asked about. */
const stay = (event) => event.preventDefault();
let reading = false;

document.addEventListener("film", ({ detail: { done, count } }) => {
  if (reading) show("The tablet keeps the video. Leave this page open until it is safe here.", done / count);
  else show(`Safe on this tablet. ${done} of ${count} pieces are in the practice; it goes on by itself.`, done / count);
});

// Once the practice holds it, it stands in the list; what it refused is not on its way.
document.addEventListener("queue", ({ detail: { item, state } }) => {
  const form = document.querySelector("form[data-video]");
  if (item?.film && state === "refused") document.getElementById("upload").hidden = true;
  if (item?.film && state === "sent" && item.visit === form?.dataset.video && !form.elements.video.files.length) location.assign(form.action);
});

/** The practice may hold pieces of this file from another time. */
const held = (whole) => document.querySelector(`[data-half][data-digest="${whole}"]`)?.dataset.half;

addEventListener("submit", async (event) => {
  const form = event.target;
  const file = form.matches("[data-video]") && form.elements.video.files[0];
  if (!file || !crypto.subtle || form.hasAttribute("data-busy")) return;
  event.preventDefault();
  event.stopPropagation();
  // What the practice would refuse is said before the video waits for it.
  if (!form.elements.condition.value && !form.elements.site.value.trim()) {
    form.elements.condition.focus();
    return say("Choose how the horse goes, or name the place that it shows.", true);
  }
  if (file.size > Number(form.dataset.largest)) {
    form.elements.video.focus();
    return say("This video is larger than 1 GB. Cut it, and send the parts.", true);
  }
  form.toggleAttribute("data-busy", true);
  addEventListener("beforeunload", stay);
  const said = ["condition", "site", "words"].map((name) => [name, form.elements[name].value]);
  const words = form.elements.words.value.trim();
  const video = { file, size: Number(form.dataset.piece), visit: form.dataset.video, words: words ? `Video: ${words}` : "Video", fields: said };
  reading = true;
  try {
    await keep(video, held);
    form.reset();
    say("Video saved on this tablet. It goes to the practice by itself.");
  } catch {
    removeEventListener("beforeunload", stay);
    say("This tablet has no room to keep the video: it goes straight to the practice. Leave this page open.", true);
    HTMLFormElement.prototype.submit.call(form);
  }
  reading = false;
  removeEventListener("beforeunload", stay);
  form.toggleAttribute("data-busy", false);
}, true);
