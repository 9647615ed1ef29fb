// The exam on a tablet. Every form of it goes into the queue first, shows at once what it says, and is sent; when the
// last one was taken the page is fetched once and only what differs is renewed.
import { fieldsOf, ids, told, words } from "./form.js";
import { add, fresh, items, state, waiting } from "./queue.js";
import { renew, typed } from "./renew.js";
import { opens, stopped } from "./unsent.js";

const visit = location.pathname.split("/")[2];
const exam = `/visits/${visit}/exam`;
const saved = () => document.getElementById("saved");

/** The row of the last tap: it does not move under the hand. */
let row = "";
/** What was answered since the page was fetched: a second answer to one question corrects the first. */
const answered = new Map();
/** The last form in words of the machine: a second tap on the same button is no second entry. */
let last = "";

/** The fields of a form as it would be sent, with the ids that the tablet gives. */
function filled(form, button, url) {
  const fields = fieldsOf(form, button);
  const same = JSON.stringify([url, fields]);
  const act = url.split("/").pop();
  if (act === "sweep") {
    const sections = fields.filter(([name]) => name === "section").length || 1;
    for (let n = sections; n > 0; n--) fields.push(["sweep", fresh()]);
  }
  if (act === "finding") correct(fields);
  fields.push(...ids(act));
  if (act === "finding") answered.set(question(fields), fields.find(([name]) => name === "entry")[1]);
  return { fields, same };
}

const question = (fields) => {
  const value = (name) => fields.find(([field]) => field === name)?.[1] ?? "";
  return [value("place"), value("found").split(":")[0], value("aspect")].join(" ");
};

/** Names the entry that this answer corrects, when the page does not know of it yet. */
function correct(fields) {
  const was = answered.get(question(fields));
  if (!was) return;
  const at = fields.findIndex(([name]) => name === "was");
  if (at >= 0) fields[at][1] = was;
  else fields.push(["was", was], ["reason", "answered again"]);
}

addEventListener("submit", async (event) => {
  const [form, button] = [event.target, event.submitter];
  const url = button?.getAttribute("formaction") || form.getAttribute("action") || "";
  if (!url.startsWith(`${exam}/`) || form.method !== "post" || form.hasAttribute("data-plain")) return;
  event.preventDefault();
  event.stopPropagation();
  if (button?.ariaDisabled === "true") return;
  const { fields, same } = filled(form, button, url);
  if (same === last) return;
  last = same;
  row = form.closest(".exam-row")?.id || button?.closest(".exam-row")?.id || "";
  form.toggleAttribute("data-kept", true);
  button?.setAttribute("aria-busy", "true");
  try {
    await add({ url, fields, visit, words: told(form, button), row, names: form.dataset.swap });
  } catch {
    // A form is not sent while it is still being told that it is.
    await new Promise((told) => setTimeout(told));
    last = "";
    saved().textContent = "Not saved on this tablet: sent straight to the practice";
    form.toggleAttribute("data-plain", true);
    form.requestSubmit(button);
    form.toggleAttribute("data-plain", false);
  }
}, true);
addEventListener("input", (event) => { event.target.form?.removeAttribute("data-kept"); last = ""; });

/** Whether a form says the same things unasked: its place, its test, its limb. */
const alike = (form, fields) =>
  [...form.querySelectorAll("input[type=hidden]")].every(({ name, value }) =>
    /^(submission|se(en|nt)_(at|by)|was|reason|order)$/.test(name) || fields.some(([field, said]) => field === name && said === value));

/** The button that was pressed, on whatever page came since. */
function buttonOf({ url, fields }) {
  const to = (button) => button.getAttribute("formaction") || button.form?.getAttribute("action");
  const all = [...document.querySelectorAll("main button")].filter((button) => button.form && to(button) === url && alike(button.form, fields));
  return all.find((button) => button.name && fields.some(([name, value]) => name === button.name && value === button.value)) ?? all.find((button) => !button.name);
}

const small = (words) => Object.assign(document.createElement("small"), { className: "here", textContent: words });

const cellOf = (place) => document.querySelector(`.exam-row a[href*="open=${place}"]`)?.closest(".cell");

/** Show on the page what one form says, before the practice holds it. */
function paint(item) {
  const act = item.url.split("/").pop();
  const button = buttonOf(item);
  if (button) press(button, item, act);
  const covered = act === "sweep" ? (button?.dataset.places ?? "").split(" ") : item.fields.filter(([name]) => name === "place").map(([, key]) => key);
  for (const place of covered.filter(Boolean)) {
    const cell = cellOf(place);
    if (!cell || (act === "sweep" && cell.querySelector(".said, small.here"))) continue;
    if (act === "nothing" || act === "sweep") {
      cell.querySelector(".dots")?.classList.replace("dots", "ring");
      cell.querySelector(".tap")?.setAttribute("aria-disabled", "true");
    }
    const short = act === "finding" && button ? `${words(button).replace(": ", " ")}, ` : "";
    cell.querySelector("small.here")?.remove();
    cell.append(small(`${short}saved here`));
  }
}

/** The button is down; one that may be pressed once only is out of reach. */
function press(button, item, act) {
  for (const other of button.closest("[role=group], .answers")?.querySelectorAll("[aria-pressed=true]") ?? []) other.ariaPressed = "false";
  if (button.name) button.ariaPressed = "true";
  button.removeAttribute("aria-busy");
  button.classList.add("here");
  if (act !== "sweep" && button.name) return;
  if (!button.nextElementSibling?.matches("small.here")) button.after(small("saved here"));
  if (act !== "sweep" || button.ariaDisabled) return;
  button.ariaDisabled = "true";
  const undo = Object.assign(document.createElement("button"), { type: "button", className: "quiet", textContent: "Undo", ariaLabel: `Undo: ${words(button)}` });
  undo.addEventListener("click", () => {
    const sweeps = item.fields.filter(([name]) => name === "sweep" || name === "seen_by");
    send("undo", sweeps, `Undo: ${item.words}`);
    undo.ariaDisabled = "true";
  }, { once: true });
  button.nextElementSibling.after(undo);
}

/** Queue something that has no form on the page. */
const send = (act, fields, said) => add({ url: `${exam}/entries/${act}`, visit, words: said, fields: [...fields, ...ids(act)], row });

/** The one line that says where everything is. */
async function line() {
  const count = await waiting(visit);
  if (!count || !saved()) return count;
  saved().classList.add("here");
  saved().replaceChildren(`${count} saved on this tablet, not yet in the practice`, ...stopped());
  return count;
}

/** What the address asks for, and what was opened since. */
const asked = new URLSearchParams(location.search);

/** The page as it would open the places that are open here. */
async function fetched(picker) {
  const query = new URLSearchParams(asked);
  for (const name of ["open", "edit", "at"]) query.delete(name);
  const place = picker?.querySelector("input[name=place]")?.value;
  if (place) query.set("open", place);
  const detail = picker?.querySelector("form.detail:not([data-kept]) input[name=was]")?.value;
  if (detail) query.set("edit", detail);
  const answer = await fetch(`${exam}?${query}`, { signal: AbortSignal.timeout(10000) });
  const page = parse(await answer.text());
  // What this tablet kept when it was last seen tells nothing new.
  if (!answer.ok || answer.redirected || page.getElementById("kept-note")) throw new Error("not the exam");
  return page;
}

/** Newest entry that the page shows. */
export const newest = () => Number(saved()?.dataset.newest ?? 0);

let renewing, again, heard = "", owed = false;

/** Whether something new was left out because of what was being typed, and nothing is typed any more. */
export const owes = () => owed && !typed(document.getElementById("main"));

/** Fetch the page once and renew what differs. @param {string} [said] what to say when it is done */
export function refresh(said = "") {
  again = true;
  heard ||= said;
  renewing ??= (async () => {
    while (again) {
      again = false;
      await turned();
    }
  })().finally(() => { renewing = undefined; });
  return renewing;
}

async function turned() {
  const [picker, ...more] = document.querySelectorAll(".exam-row .picker");
  const pages = [];
  try {
    for (const open of [picker, ...more]) pages.push([open?.closest(".exam-row")?.id, await fetched(open)]);
  } catch {
    return; // The next second asks again.
  }
  const left = pages.flatMap(([at, page], n) => renew(page, [n ? at : "main"], row));
  owed = left.length > 0;
  if (!(await waiting(visit))) answered.clear();
  last = "";
  await repaint();
  document.dispatchEvent(new Event("renewed"));
  const flash = pages[0][1].getElementById("status")?.textContent.trim();
  const news = left.length ? "Somebody else recorded something where you are typing. It shows when yours is saved." : "";
  if (flash || news || heard) say([flash || heard, news].filter(Boolean).join(" "));
  heard = "";
}

/** What waits is shown on whatever came from the practice. */
async function repaint() {
  (await items("here", visit)).forEach(paint);
  await line();
}

document.addEventListener("queue", async ({ detail: { item, state: step, page, status } }) => {
  if (item?.visit && item.visit !== visit) return;
  if (step === "here" && item.url) paint(item);
  if (step === "refused") {
    last = "";
    answered.clear();
    if (page && status === 422 && item.names && swap(item.names, page)) opens(item);
    else await refresh();
    return say(`Not saved: ${item.why ?? "it stays on this tablet"}`, true);
  }
  const count = await line();
  if (step === "sent" && !count) {
    saved()?.replaceChildren("Saved in the practice");
    await refresh("Saved.");
  }
  if (step === "waits" && count && state.stopped) say(`Saved on this tablet, not yet in the practice: ${state.stopped}.`);
});

addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[data-swap]");
  if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  const query = new URL(link.href).searchParams;
  for (const name of ["gait", "flexion", "flexion_scale"]) if (query.has(name)) asked.set(name, query.get(name));
  const here = link.closest(".exam-row");
  if (!here || event.defaultPrevented) return;
  event.preventDefault();
  const before = here.getBoundingClientRect().top;
  if (!(await turn(link.dataset.swap, link.href))) say("No connection: this page is as it was.", true);
  const after = document.getElementById(here.id)?.getBoundingClientRect().top;
  if (after !== undefined) scrollBy(0, after - before);
  for (const other of document.querySelectorAll(".picker")) {
    // One place at a time, unless words are being typed at the other.
    if (other.closest(link.dataset.swap) || other.querySelector(".detail")) continue;
    other.closest(".exam-row")?.querySelector("[aria-expanded]")?.removeAttribute("aria-expanded");
    other.remove();
  }
  await repaint();
}, true);

await repaint();
// What waits is in sight again after a reload.
for (const cell of document.querySelectorAll(".cell small.here")) cell.closest("details").open = true;
