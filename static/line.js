// The line box in the exam: Enter reads the line, what was read stands above it, Enter again records it through the
// queue. Without a signal the line is kept on the tablet word for word, and can be read once the practice has it.
import { fieldsOf, ids } from "./form.js";
import { add } from "./queue.js";
import { opens } from "./unsent.js";

const form = document.getElementById("line-form");
const box = () => document.getElementById("line-read");
const input = form?.elements.line;
const visit = location.pathname.split("/")[2];
const exam = `/visits/${visit}/exam`;
const RECORD = `${exam}/line/record`;
/** Seconds after which a line that was not answered is kept instead. */
const PATIENCE = 4;

const heard = Object.assign(document.createElement("p"), { className: "away", ariaLive: "polite" });
document.getElementById("line-box")?.prepend(heard);

/** What stands in the box now, for who does not see it. */
function told() {
  const wrong = [...box().querySelectorAll(".field-error, .error")].map((one) => one.textContent);
  const read = [...box().querySelectorAll(".read")].map((one) => one.textContent.trim().replace(/\s+/g, " "));
  return [...wrong, read.length ? `Read: ${read.join("; ")}` : ""].join(" ").trim() || "Nothing was said.";
}

/** Shows what was read, with the hand on what is to be answered, or else on the one button that records it all. */
function show(page) {
  const read = page.getElementById("line-read");
  if (!read) throw new Error("no reading");
  box().replaceWith(document.adoptNode(read));
  heard.textContent = told();
  const groups = [...box().querySelectorAll(".chip")];
  const open = groups.find((chip) => !chip.querySelector(":checked"))?.querySelector("input");
  const first = open ?? document.getElementById("line_reason") ?? document.getElementById("line-all") ?? input;
  first.focus({ preventScroll: true });
  first.closest(".chip")?.scrollIntoView({ block: "nearest" });
}

function empty() {
  box().replaceChildren();
  heard.textContent = "";
  input.value = "";
  input.focus();
}

/** Without an answer nothing is lost: the whole line goes into the queue as words that are still to be read. */
async function keep(line) {
  const note = JSON.stringify([{ kind: "note", value: "not_read", text: line }]);
  const fields = [...fieldsOf(form), ["row-0", note], ...ids("note")];
  await add({ url: RECORD, visit, fields, words: `Line, not read yet: ${line}` });
  empty();
  // In the box and not in the page's one status, which tells of the queue.
  heard.textContent = "No answer from the practice: the line is kept word for word, to be read later.";
  box().replaceChildren(Object.assign(document.createElement("p"), { className: "hint line-told", ariaHidden: "true", textContent: heard.textContent }));
}

async function read(event) {
  const asking = event.target;
  if (asking !== form && !asking.matches(".line-kept")) return;
  event.preventDefault();
  const line = asking.elements.line.value.trim();
  if (!line || form.ariaBusy === "true") return;
  form.ariaBusy = "true";
  try {
    const answer = await fetch(asking.action, { method: "POST", body: new URLSearchParams(new FormData(asking)), signal: AbortSignal.timeout(PATIENCE * 1000) });
    if (answer.redirected || (!answer.ok && answer.status !== 422)) throw new Error("not read");
    show(parse(await answer.text()));
  } catch {
    if (asking === form) await keep(line);
    else say("No answer from the practice: the line is still kept.", true);
  } finally {
    form.ariaBusy = "false";
  }
}

let recording = false;

/** What was confirmed goes into the queue, once however often Enter is pressed, and the box is free for the next line. */
async function record(event) {
  const record = event.target;
  if (record.id !== "line-record") return;
  event.preventDefault();
  if (recording) return;
  recording = true;
  try {
    const words = `Line: ${record.elements.line.value}`;
    await add({ url: RECORD, visit, words, fields: [...fieldsOf(record), ...ids("record")] });
    empty();
  } catch {
    HTMLFormElement.prototype.submit.call(record); // A tablet that cannot keep it sends it as it is.
  } finally {
    recording = false;
  }
}

/** Lines that were kept are in the practice now, or read. */
async function renewed() {
  try {
    const answer = await fetch(`${exam}/line?by=${encodeURIComponent(form.elements.seen_by.value)}`);
    const now = parse(await answer.text()).getElementById("line-waiting");
    if (now) document.getElementById("line-waiting").replaceWith(document.adoptNode(now));
  } catch {
    // They are shown when the page is opened again.
  }
}

if (form) {
  document.addEventListener("submit", read);
  document.addEventListener("submit", record);
  document.addEventListener("queue", ({ detail: { item, state, page, status } }) => {
    if (item?.url !== RECORD) return;
    const kept = item.fields.some(([name, value]) => name === "was" || value.includes('"not_read"'));
    if (state === "sent" && kept) {
      box().querySelector(".line-told")?.remove();
      renewed();
    }
    if (state !== "refused" || status !== 422 || !page?.getElementById("line-read")) return;
    show(page);
    opens(item);
  });
  document.addEventListener("keydown", (event) => {
    if (event.altKey && event.code === "KeyL" && !event.ctrlKey && !event.metaKey) {
      event.preventDefault();
      input.focus();
      input.select();
    }
    if (event.key !== "Escape" || !event.target.closest?.("#line-box")) return;
    // Once: back to the line, to put it right. Twice: away with it.
    if (event.target === input) return empty();
    box().replaceChildren();
    input.focus();
    input.select();
  });
}
