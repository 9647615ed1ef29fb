// What waits on this tablet, told on every page: how much is not in the practice yet, what was not taken and what may
// become of it, and whose entries wait here besides.
import { fieldsOf, ids, told } from "./form.js";
import { account, forget, shut } from "./keys.js";
import { all } from "./keep.js";
import { add, films, items, send, settle, state, waiting } from "./queue.js";
import { keeps } from "./store.js";

const main = document.getElementById("main");

/** An element with properties and children. */
function make(tag, own = {}, ...children) {
  const element = Object.assign(document.createElement(tag), own);
  element.append(...children);
  return element;
}

/** @param {number} count @returns {string} "1 entry", "3 entries" */
const entries = (count) => `${count} ${count === 1 ? "entry" : "entries"}`;

/** Why nothing goes out, with the way on. */
export function stopped() {
  const here = encodeURIComponent(location.pathname + location.search);
  if (state.stopped === "signed out") return ["; ", make("a", { href: `/sign-in?next=${here}` }, "sign in again to send")];
  if (state.stopped === "locked") return ["; ", make("a", { href: `/locked?next=${here}` }, "unlock to send")];
  return state.stopped ? [`: ${state.stopped}`] : [];
}

/** The choices for one entry that was not taken. */
function choices(item) {
  const line = make("li", {}, make("b", {}, item.words), make("p", { className: "soft small" }, `Not taken: ${item.why ?? item.words}`));
  const again = make("button", { type: "button", className: "quiet" }, "Open it again");
  const note = make("button", { type: "button", className: "quiet" }, "Keep as a note on this visit");
  const reason = make("input", { id: `why-${item.id}`, autocomplete: "off", maxLength: 300 });
  const throwing = make("form", { className: "row-actions" },
    make("label", { htmlFor: reason.id }, "Why it is discarded"), reason, make("button", {}, "Discard"));
  again.addEventListener("click", () => open(item));
  note.addEventListener("click", () => instead(item, "note", [["note", `${item.words} (not taken at first: ${item.why})`]]));
  throwing.addEventListener("submit", (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (!reason.value.trim()) return reason.focus();
    instead(item, "discarded", [["note", item.words], ["reason", reason.value.trim()]]);
  });
  if (item.film) again.hidden = true; // What was typed with it cannot be shown without its file.
  line.append(item.damaged ? "" : make("div", { className: "row-actions" }, again, note),
    make("details", { className: "fold" }, make("summary", {}, "Discard it"), throwing));
  return line;
}

/** Something else goes to the practice in its place, and it leaves the line when that is kept. */
async function instead(item, act, fields) {
  await add({ url: `/visits/${item.visit}/exam/entries/${act}`, visit: item.visit, words: item.words, fields });
  await settle(item.id);
}

/** The refused one that is open on this page again: what is sent from there takes its place. */
let reopened = JSON.parse(sessionStorage.getItem("opened"));
sessionStorage.removeItem("opened");
export const opens = ({ id, url, visit }) => { reopened = { id, url, visit }; };

/** Send it as the browser would: the practice shows its page with everything as it was typed. */
function open(item) {
  sessionStorage.setItem("opened", JSON.stringify({ id: item.id, url: item.url, visit: item.visit }));
  const form = make("form", { method: "post", action: item.url, hidden: true });
  for (const [name, value] of item.fields) form.append(make("input", { type: "hidden", name, value }));
  document.body.append(form);
  HTMLFormElement.prototype.submit.call(form);
}

async function replaced({ item, state: step }) {
  if (step !== "here" || !item?.url || reopened?.url !== item.url) return;
  const { id } = reopened;
  reopened = null;
  settling = settle(id);
  await settling;
}

let settling;

/** On a page that the practice showed for it, what was put right goes into the queue as on the exam itself. */
async function again(event) {
  const [form, button] = [event.target, event.submitter];
  if (!reopened || document.getElementById("saved") || form.getAttribute("action") !== reopened.url) return;
  event.preventDefault();
  event.stopPropagation();
  const { url, visit } = reopened;
  await add({ url, visit, words: told(form, button), fields: [...fieldsOf(form, button), ...ids(url.split("/").pop())] });
  await settling;
  location.assign(`/visits/${visit}/exam`);
}

/** Whose entries wait on this tablet besides one's own. @returns {Promise<[string, number][]>} */
async function others() {
  const counts = new Map();
  for (const row of await all("queue")) {
    if (row.account !== account.id) counts.set(row.name, (counts.get(row.name) ?? 0) + 1);
  }
  return [...counts];
}

/** One place above the page for all of it; the exam says what waits of its visit by itself. */
async function show() {
  const lines = [];
  if (document.getElementById("saved") && !(await keeps())) {
    lines.push(make("p", {}, make("b", {}, "This browser keeps nothing on this tablet. "),
      "What you record goes straight to the practice, and is safe only once the page says that it is saved there."));
  }
  const count = await waiting();
  if (count && !document.getElementById("saved")) {
    lines.push(make("p", {}, make("b", {}, `${entries(count)} saved on this tablet, not yet in the practice`), ...stopped()));
  }
  const many = await films();
  if (many) {
    lines.push(make("p", {}, make("b", {}, `${many === 1 ? "A video" : `${many} videos`} saved on this tablet, not yet in the practice`), ...stopped()));
  }
  const bad = await items("refused");
  if (bad.length) {
    lines.push(make("p", {}, make("b", {}, `${entries(bad.length)} not taken by the practice, kept on this tablet`)),
      make("ul", { className: "lines" }, ...bad.map(choices)));
  }
  for (const [name, many] of await others()) {
    lines.push(make("p", {}, `${entries(many)} of ${name} ${many === 1 ? "waits" : "wait"} here. They are sent when ${name} signs in on this tablet.`));
  }
  const now = document.getElementById("unsent");
  if (now?.contains(document.activeElement) && bad.length === now.querySelectorAll(".lines > li").length) return;
  now?.remove();
  if (lines.length) main.before(make("section", { id: "unsent", className: "caution no-print", ariaLabel: "On this tablet" }, ...lines));
}

/** Signing out with entries that the practice does not hold says so first; what is kept goes only when none wait. */
async function leaving(form) {
  const mine = (await all("queue", account.id)).length;
  const go = () => HTMLFormElement.prototype.submit.call(form);
  if (!mine) return forget().finally(go);
  const stay = make("button", { type: "button", className: "primary" }, "Stay signed in");
  const out = make("button", { type: "button", className: "quiet" }, "Sign out all the same");
  const ask = make("section", { id: "leaving", className: "caution no-print", role: "alert", tabIndex: -1 },
    make("p", {}, make("b", {}, `${entries(mine)} not yet in the practice. `),
      "They stay sealed on this tablet, and are sent when you sign in on it again."),
    make("div", { className: "row-actions" }, stay, out));
  stay.addEventListener("click", () => ask.remove());
  out.addEventListener("click", () => shut().finally(go));
  document.getElementById("leaving")?.remove();
  main.before(ask);
  ask.focus();
  send();
}

if (account) {
  addEventListener("submit", again, true);
  document.addEventListener("queue", ({ detail }) => replaced(detail).then(show));
  addEventListener("submit", (event) => {
    if (event.target.getAttribute("action") !== "/sign-out") return;
    event.preventDefault();
    event.stopPropagation();
    leaving(event.target);
  }, true);
  show();
}
