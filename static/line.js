// The line box in the exam: Enter reads the line, what was read stands above it, Enter again records it. Without a
// signal the line is kept on the tablet as a note, word for word: it is read by whoever writes the exam up.
import { fieldsOf, ids } from "./form.js";
import { add } from "./queue.js";

const form = document.getElementById("line-form");
const box = () => document.getElementById("line-read");
const input = form?.elements.line;
const visit = location.pathname.split("/")[2];

/** Shows what was read, and puts the one button that records it under the hand. */
function show(page) {
  const read = page.getElementById("line-read");
  if (!read) throw new Error("no reading");
  box().replaceWith(document.adoptNode(read));
  (document.getElementById("line-all") ?? input).focus();
}

function empty() {
  box().replaceChildren();
  input.value = "";
}

/** Without an answer nothing is lost: the line goes into the queue as a note. */
async function keep(line) {
  const fields = [["note", line], ...fieldsOf(form).filter(([name]) => name !== "line"), ...ids("note")];
  await add({ url: `/visits/${visit}/exam/entries/note`, visit, fields, words: `Note: ${line}` });
  empty();
  say("No connection: the line is kept as a note, word for word.");
}

form?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const line = input.value.trim();
  if (!line) return;
  form.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: AbortSignal.timeout(4000) });
    if (answer.redirected || (!answer.ok && answer.status !== 422)) throw new Error("not read");
    show(parse(await answer.text()));
  } catch {
    await keep(line);
  } finally {
    form.removeAttribute("aria-busy");
  }
});

// What was confirmed is in the queue: the box is free for the next line.
document.addEventListener("queue", ({ detail: { item, state } }) => {
  if (state !== "here" || !item?.url?.endsWith("/exam/line/record")) return;
  empty();
  input.focus();
});

input?.addEventListener("keydown", (event) => {
  if (event.key === "Escape") empty();
});
