// A photo for the visit: scaled down on the tablet and put into the queue like everything else, so that it is safe
// without a signal. Scaling also leaves behind where and with what it was taken; a HEIC photo that the browser cannot
// show goes as it is.
import { add } from "./queue.js";

/** Pixels of the longer side: enough for a swelling, small enough for a barn's signal. */
const LONGEST = 1600;
const QUALITY = 0.8;

/** @param {Blob} file @returns {Promise<Blob>} a JPEG */
async function scaled(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [Math.round(picture.width * scale), Math.round(picture.height * scale)];
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve, reject) => canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error("no picture"))), "image/jpeg", QUALITY));
}

/** Bytes of the largest photo that goes as it is: in letters it has to fit into a form. */
const WHOLE = 11 * 1024 * 1024;

/** A photo that this browser cannot show goes as it is; the practice looks into it. @param {Blob} file */
async function taken(file) {
  try {
    return await scaled(file);
  } catch (fault) {
    const box = String.fromCharCode(...new Uint8Array(await file.slice(4, 8).arrayBuffer()));
    if (box === "ftyp" && file.size <= WHOLE) return file;
    throw fault;
  }
}

/** Base64 in the letters that a form sends as they are. @param {Blob} blob */
async function letters(blob) {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

/** What it shows, in words: where, how the horse goes, and what was typed. */
function told({ site, condition, words }) {
  const chosen = (field) => (field.value ? (field.selectedOptions?.[0].textContent ?? field.value) : "");
  const of = [chosen(site), chosen(condition)].filter(Boolean).join(", ");
  return ["Photo", of, words.value.trim()].filter(Boolean).join(": ");
}

/** A place that is typed is one of the list: a photo in the queue has nobody beside it to mend it. */
const listed = ({ value, list }) => !value.trim() || !list || [...list.options].some((one) => one.value.toLowerCase() === value.trim().toLowerCase());

// A photo of the place that is open: its form knows the place, and asks for the picture.
addEventListener("click", (event) => {
  const link = event.target.closest?.("[data-photo-of]");
  const form = link && document.querySelector("form[data-photo]");
  if (!form) return;
  event.preventDefault();
  const { site, photo } = form.elements;
  const key = link.dataset.photoOf;
  if (![...site.options].some((one) => one.value === key)) site.add(new Option(link.closest(".picker").ariaLabel, key));
  site.value = key;
  form.closest("details").open = true;
  form.scrollIntoView({ block: "center" });
  photo.focus({ preventScroll: true });
  photo.click();
}, true);

addEventListener("submit", async (event) => {
  const form = event.target;
  const file = form.matches("[data-photo]") && form.elements.photo.files[0];
  if (!file || form.hasAttribute("data-busy")) return;
  event.preventDefault();
  event.stopPropagation();
  if (!listed(form.elements.site)) {
    say("Choose a place of the list, or leave it empty.", true);
    return form.elements.site.focus();
  }
  form.toggleAttribute("data-busy", true);
  try {
    const photo = await letters(await taken(file));
    const fields = ["site", "condition", "words"].map((name) => [name, form.elements[name].value.trim()]);
    await add({ url: form.getAttribute("action"), visit: form.dataset.photo, words: told(form.elements), fields: [...fields, ["photo", photo]] });
    form.reset();
    say("Photo saved on this tablet. It goes to the practice by itself.");
  } catch {
    say("Not saved: this is no photo, or the tablet could not keep it.", true);
  }
  form.toggleAttribute("data-busy", false);
}, true);
