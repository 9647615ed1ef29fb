// The exam on a tablet. Every form of it goes into the queue first, shows at once what it says, and is sent; when the
// last one was taken the page is fetched once and only what differs is renewed.
import { fieldsOf, ids, told, words } from "./form.js";
import { add, fresh, items, state, waiting } from "./queue.js";
import { lifted, renew, typed } from "./renew.js";
import { goTo, unpack } from "./sections.js";
import { opens, stopped } from "./unsent.js";

const visit = location.pathname.split("/")[2];
const exam = `/visits/${visit}/exam`;
const saved = () => document.getElementById("saved");

/** What makes pickers without the practice, once it is here; until then each is asked of the practice. */
let picks = null;
/** @param {{pick: Function, tell: Function}} made */
export const equip = (made) => { picks = made; };

/** The row of the last tap: it does not move under the hand. */
let row = "";
/** What was answered since the page was fetched, by question: a second answer corrects the first. */
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
  const asked = act === "finding" && question(fields, form);
  if (asked) correct(fields, asked);
  fields.push(...ids(act));
  if (asked) answered.set(asked, value(fields, "entry"));
  return { fields, same };
}

const value = (fields, name) => fields.find(([field]) => field === name)?.[1] ?? "";

/** Place, code, and the side of the limb where that is asked apart; not where a second form only tells it. */
const question = (fields, form) =>
  [value(fields, "place"), value(fields, "found").split(":")[0], form.matches(".detail") ? "" : value(fields, "aspect")].join(" ");

/** Names the entry that this answer corrects, when the page does not know of it yet. */
function correct(fields, asked) {
  const was = answered.get(asked);
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

/** The cell of a place, also where its section is folded. */
function cellOf(place) {
  const within = (part) => part.querySelector(`.exam-row a[href*="open=${place}"]`);
  const folded = [...document.querySelectorAll("template[data-rows]")].find((rows) => within(rows.content));
  if (folded) unpack(folded.parentElement);
  return within(document)?.closest(".cell");
}

/** Show on the page what one form says, before the practice holds it. */
function paint(item) {
  if (!item?.url?.startsWith(`${exam}/`)) return;
  const act = item.url.split("/").pop();
  const said = value(item.fields, "place");
  const picker = said && cellOf(said)?.closest(".exam-row").querySelector(".picker");
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
  if (act === "finding" && picker?.querySelector("input[name=place]")?.value === said) picks?.tell(picker, saidIn(item));
}

/** A finding of the queue, as its picker tells it. */
function saidIn({ fields, words: told }) {
  const quality = fields.filter(([name]) => name === "quality").map(([, one]) => one);
  return { entry: value(fields, "entry"), was: value(fields, "was"), words: told, found: value(fields, "found"), aspect: value(fields, "aspect"),
    value: fields.filter(([name]) => name === "value").map(([, one]) => one).join(" "), quality, answer: value(fields, "answer"), note: value(fields, "note") };
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

/** What is asked for to see this page with a place that is open here. @param {Element} [picker] */
function asking(picker) {
  const query = new URLSearchParams(asked);
  for (const name of ["open", "edit", "at"]) query.delete(name);
  const place = picker?.querySelector("input[name=place]")?.value;
  if (place) query.set("open", place);
  const detail = picker?.querySelector("form.detail:not([data-kept]) input[name=was]")?.value;
  if (detail) query.set("edit", detail);
  return query.toString();
}

/** The page as it would open the places that are open here. */
async function fetched(query) {
  const answer = await fetch(`${exam}?${query}`, { signal: AbortSignal.timeout(10000) });
  const page = parse(await answer.text());
  // Sections that were opened here have their rows, so those of the answer have them too.
  for (const rows of page.querySelectorAll("template[data-rows]")) {
    const mine = document.getElementById(rows.parentElement.id);
    if (mine && !mine.querySelector("template[data-rows]")) unpack(rows.parentElement);
  }
  // What this tablet kept when it was last seen tells nothing new.
  if (!answer.ok || answer.redirected || page.getElementById("kept-note")) throw new Error("not the exam");
  return page;
}

/** Newest entry that the page shows. */
export const newest = () => Number(saved()?.dataset.newest ?? 0);

let renewing, again, heard = "", owed = false;
/** What the practice took since the page was last asked for: it may not be in that page, and waits here no more. */
const taken = [];

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
  const open = () => [...document.querySelectorAll(".exam-row .picker")];
  const asks = () => `${[undefined, ...open()].map(asking)}`;
  const [picker, ...more] = open();
  const before = asks();
  taken.length = 0;
  const pages = [];
  try {
    for (const one of [picker, ...more]) pages.push([one?.closest(".exam-row")?.id, await fetched(asking(one))]);
  } catch {
    return; // The next second asks again.
  }
  await lifted();
  // What was opened meanwhile is not in these pages, and would be taken from under the hand.
  if (asks() !== before || taken.length) return void (again = true);
  const left = pages.flatMap(([at, page], n) => renew(page, [n ? at : "main"], row));
  owed = left.length > 0;
  if (!(await waiting(visit))) answered.clear();
  last = "";
  await repaint();
  taken.forEach(paint);
  document.dispatchEvent(new Event("renewed"));
  const flash = pages[0][1].getElementById("status")?.textContent.trim();
  const news = left.length ? "Somebody else recorded something where you are typing. It shows when yours is saved." : "";
  if (flash || news || heard) say([flash || heard, news].filter(Boolean).join(" "));
  heard = "";
}

/** What waits is shown on whatever came from the practice. */
async function repaint() {
  (await items("here", visit)).forEach(paint);
  document.dispatchEvent(new Event("painted"));
  await line();
}

document.addEventListener("queue", async ({ detail: { item, state: step, page, status } }) => {
  if (item?.visit && item.visit !== visit) return;
  if (step === "sent") taken.push(item);
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

/** What a link asks to be opened is asked for again with each page. @param {URLSearchParams} query */
function remember(query) {
  for (const name of ["gait", "flexion"]) {
    const all = `${asked.get(name) ?? ""} ${query.get(name) ?? ""}`.trim();
    if (all) asked.set(name, [...new Set(all.split(" "))].join(" "));
  }
  for (const name of ["flexion_scale", "neuro"]) if (query.has(name)) asked.set(name, query.get(name));
}

/** Takes a picker away. @param {Element} [picker] */
export function close(picker) {
  const row = picker?.closest(".exam-row");
  row?.querySelector("[aria-expanded]")?.removeAttribute("aria-expanded");
  row?.querySelector(".cell.open")?.classList.remove("open");
  picker?.remove();
}

/** One place at a time, unless words are being typed at the other. */
function only(row) {
  for (const other of document.querySelectorAll(".exam-row .picker")) {
    if (other.closest(".exam-row") !== row && !typed(other)) close(other);
  }
}

/** Opens what a link of the exam names: made here, or asked of the practice. @returns {Promise<boolean>} */
async function opened(link) {
  const said = picks?.pick(link);
  for (const { question, entry } of said ?? []) if (question) answered.set(question, entry);
  return Boolean(said) || turn(link.dataset.swap, link.href);
}

addEventListener("click", async (event) => {
  const link = event.target.closest?.("a[data-swap]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  remember(new URL(link.href).searchParams);
  const here = link.closest(".exam-row");
  if (!here && !link.dataset.into) return;
  event.preventDefault();
  const anchor = here ?? link.closest("details");
  const before = anchor.getBoundingClientRect().top;
  if (!(await opened(link))) say("No connection: this page is as it was.", true);
  if (here) only(document.getElementById(here.id));
  const after = document.getElementById(anchor.id)?.getBoundingClientRect().top;
  if (after !== undefined) scrollBy(0, after - before);
  // A key leads into what it opened; a thumb stays where it is.
  if (!event.detail && link.dataset.pick && here) document.getElementById(here.id)?.querySelector(".picker button")?.focus({ preventScroll: true });
  await repaint();
}, true);

// A spot of the plan leads to its place on this page.
addEventListener("click", (event) => {
  const spot = event.target.closest?.("a.spot");
  const place = spot && new URL(spot.getAttribute("href"), location.href).searchParams.get("open");
  const link = place && cellOf(place)?.querySelector("[data-pick]");
  if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  goTo(link.closest(".part > .fold").id);
  if (link.ariaExpanded !== "true") link.click();
  link.closest(".exam-row").scrollIntoView({ block: "center" });
});

// What waits is in sight again after a reload.
repaint().then(() => {
  for (const cell of document.querySelectorAll(".cell small.here")) cell.closest("details").open = true;
});
