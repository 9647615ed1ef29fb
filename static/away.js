// Taking the day along, and beginning a visit where no signal reaches. Works where the worker does: over https, with
// the practice's certificate trusted. Elsewhere the same links and forms go to the practice at once.
import { account, hasPin, keepPin, key, opened } from "./keys.js";
import { keep, kept, pageOf, read, tidy } from "./pages.js";
import { add, fresh, waiting } from "./queue.js";
import { drop, get, put } from "./store.js";

/** The blank exam's ids and name (src/away/blank.rs). */
const [VISIT, HORSE, NAME] = ["00000000-0000-7000-8000-000000000001", "00000000-0000-7000-8000-000000000002", "%HORSE%"];
const BLANK = `/visits/${VISIT}/exam`;

function make(name, attributes = {}, ...inside) {
  const element = Object.assign(document.createElement(name), attributes);
  element.append(...inside);
  return element;
}

const about = (account) => `${account} `;
const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
const size = (bytes) => (bytes < 1e6 ? `${Math.ceil(bytes / 1e3)} kB` : `${(bytes / 1e6).toFixed(1)} MB`);

/** Fetches a page and keeps it. @returns {Promise<number>} bytes; 0 when it is not to be had */
async function bring(url) {
  const answer = await fetch(url).catch(() => null);
  const page = answer && (await pageOf(answer, account.id));
  return page ? keep(url, page) : 0;
}

/** @param {HTMLElement} place @param {HTMLButtonElement} button */
async function take(place, button) {
  button.disabled = true;
  const firm = (await navigator.storage.persist?.()) ?? false;
  const urls = [...new Set(["/away", BLANK, ...[...document.querySelectorAll("[data-keep]")].map((one) => one.dataset.keep)])];
  let bytes = 0;
  const missing = [];
  if (await key()) {
    for (const [done, url] of urls.entries()) {
      place.replaceChildren(make("p", {}, `Taking along: ${done + 1} of ${urls.length} pages.`));
      const brought = await bring(url);
      bytes += brought;
      if (!brought) missing.push(url);
    }
    await tidy(account.id, urls);
    const { until, day } = place.dataset;
    const visits = document.querySelectorAll("#my-visits > li").length;
    await put("kept", { id: about(account.id), account: account.id, at: Date.now(), until: Date.parse(until), day, visits, pages: urls.length - missing.length, missing: missing.length, bytes, firm });
  }
  button.disabled = false;
  await tell(place);
}

/** Says what is kept, since when, how much, for how long, and what stands in the way. */
async function tell(place) {
  const taken = await get("kept", about(account.id));
  const lines = [];
  const caution = (...words) => lines.push(make("p", { className: "caution" }, ...words));
  if (!taken) lines.push(make("p", { className: "soft" }, "Nothing is taken along yet on this tablet."));
  else {
    const visits = taken.visits === 1 ? "1 visit" : `${taken.visits} visits`;
    lines.push(make("p", { id: "taken-line" }, `Kept on this tablet at ${clock(taken.at)}: ${visits}, ${taken.pages} pages, ${size(taken.bytes)}. Fresh until the end of ${taken.day}.`));
    if (Date.now() > taken.until) caution(make("strong", {}, "Not today's. "), "What is kept is older than today: take your day along again.");
    if (taken.missing) caution(make("strong", {}, "Not complete. "), `${taken.missing} pages could not be had. Take your day along again where the signal is good.`);
    if (!taken.firm) caution(make("strong", {}, "Not promised. "), "This browser did not promise to keep it: it may clear it when the tablet runs out of room. Install the practice on the home screen or free some room, then take your day along again.");
  }
  if (!(await hasPin())) caution(...(await pinWords(place)));
  place.replaceChildren(...lines);
}

/** Without a copy that the PIN opens, the tablet stays locked until the practice answers. */
async function pinWords(place) {
  const open = await opened();
  const why = make("strong", {}, "No PIN on this tablet. ");
  if (!open?.pin) return [why, "Once it locks, only the practice can open it. ", make("a", { href: "/me" }, "Set a PIN"), " first."];
  const input = make("input", { id: "taken-pin", type: "password", autocomplete: "off", inputMode: "numeric" });
  const wrong = make("p", { className: "error", role: "alert", hidden: true });
  const form = make("form", { noValidate: true }, make("div", { className: "field" }, make("label", { htmlFor: "taken-pin" }, "Your PIN"), wrong, input), make("button", {}, "Let it open this tablet"));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (await keepPin(input.value)) return tell(place);
    wrong.textContent = "This is not your PIN, or the practice does not answer.";
    wrong.hidden = false;
    input.focus();
  });
  return [why, "Type it once, and it opens this tablet without the practice.", form];
}

/** The visits that began on this tablet, and what of them is not in the practice yet. */
async function begun(section) {
  const rows = (await kept(account.id)).filter((row) => row.begun).sort((a, b) => b.at - a.at);
  const list = section.querySelector("ul");
  list.replaceChildren();
  for (const row of rows) {
    const [page, left] = [await read(row.url), await waiting(row.begun)];
    if (!page) continue;
    const link = make("a", { className: "line", href: row.url }, page.name);
    const state = left ? `${left} not in the practice yet` : "in the practice";
    list.append(make("li", {}, make("time", { className: "at" }, clock(row.at)), link, make("span", { className: "what" }, state)));
  }
  section.hidden = !list.children.length;
}

const markup = (text) => text.replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);

/** The exam page of a visit that begins here: the blank one with its horse in it. */
async function examOf(visit, horse, name, card) {
  if (!(await read(BLANK))) await bring(BLANK);
  const blank = await read(BLANK);
  if (!blank) return null;
  const html = blank.html.replaceAll(VISIT, visit).replaceAll(HORSE, horse).replaceAll(NAME, markup(name));
  const page = parse(html);
  const head = page.querySelector(".horse-card");
  if (card && head) {
    if (head.nextElementSibling?.matches(".horse-line")) head.nextElementSibling.remove();
    head.replaceWith(card.content.cloneNode(true));
  }
  return { html: `<!doctype html>\n${page.documentElement.outerHTML}`, headers: blank.headers, name };
}

/** Begins a visit here; the practice gets it with the queue. @param {[string, string][]} fields */
async function begin(name, horse, fields, card) {
  const visit = fresh();
  const url = `/visits/${visit}/exam`;
  const page = await examOf(visit, horse, name, card);
  if (!page || !(await keep(url, page, { begun: visit }))) return say("Not begun: take your day along first, while the practice answers.", true);
  try {
    await add({ url: "/away/visits", fields: [["visit", visit], ...fields], visit, words: `Visit of ${name} begun` });
  } catch {
    await drop("kept", `${account.id} ${url}`);
    return say("Not begun: this tablet could not keep it.", true);
  }
  location.assign(url);
}

/** The horses on call: found while typing, begun with a tap. @param {HTMLElement} list */
function onCall(list) {
  const [find, count] = [document.getElementById("pack-find"), document.getElementById("pack-count")];
  const lines = [...list.children].map((line) => [line, line.textContent.toLowerCase()]);
  find.hidden = false;
  find.querySelector("input").addEventListener("input", (event) => {
    const words = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
    let seen = 0;
    for (const [line, text] of lines) {
      line.hidden = !words.every((word) => text.includes(word));
      seen += !line.hidden;
    }
    count.textContent = seen === 1 ? "1 horse" : `${seen} horses`;
  });
  list.addEventListener("click", (event) => {
    const line = event.target.closest("[data-begin]")?.closest("li");
    if (!line || !navigator.serviceWorker?.controller) return;
    event.preventDefault();
    begin(line.dataset.name, line.dataset.horse, [["horse", line.dataset.horse]], line.querySelector("template"));
  });
}

/** A horse that is not in the list. @param {HTMLFormElement} form */
function unknown(form) {
  form.addEventListener("submit", (event) => {
    const name = form.elements.name.value.trim();
    if (!name || !navigator.serviceWorker?.controller) return;
    event.preventDefault();
    event.stopPropagation();
    const horse = fresh();
    const typed = [...new FormData(form)].filter(([field]) => ["name", "client", "yard", "words"].includes(field));
    begin(name, horse, [["new_horse", horse], ...typed]);
  });
}

async function day(place) {
  const button = document.querySelector("[data-take]");
  const works = await navigator.serviceWorker?.ready;
  if (!works) return;
  button.hidden = false;
  button.addEventListener("click", () => take(place, button));
  await key();
  begun(document.getElementById("begun"));
  if (location.hash !== "#take") return tell(place);
  history.replaceState(null, "", location.pathname);
  await take(place, button);
}

const [place, list, form] = ["taken", "pack", "begin"].map((id) => document.getElementById(id));
if (account && place && location.protocol === "https:") day(place);
if (account && list) onCall(list);
if (account && form) unknown(form);
