// The picker of any place, and the sections that open when they are wanted, made here at once out of the pieces that
// come a little later: with a signal it is quicker, without one nothing is missing (src/exam/picks.rs).
import { close, equip } from "./exam.js";
import { fresh } from "./queue.js";

const visit = location.pathname.split("/")[2];
/** Milliseconds after which the pieces are fetched unasked. */
const UNASKED = 8000;

let picks, coming;

/** Fetches the pieces, however often their way is cut off. */
async function fetched() {
  const answer = await fetch(document.querySelector("meta[name=picks]").content).catch(() => null);
  const pieces = answer?.ok && (await answer.json().catch(() => null));
  if (!pieces) return void setTimeout(fetched, 3000);
  picks = pieces;
  equip({ pick, tell });
}

// The page stands and takes entries first; what else it has to do without the practice comes with the first touch, or
// unasked: whoever opens it at the truck may walk into a barn without a signal.
const equipped = () => (coming ??= fetched());
for (const event of ["pointerdown", "keydown"]) addEventListener(event, equipped, { once: true, capture: true });
setTimeout(equipped, UNASKED);

const markup = (text) => text.replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);
const seenBy = () => document.querySelector("main input[type=hidden][name=seen_by]")?.value ?? "";

/** A piece as a page of its own. @param {Record<string, string>} words what stands in its places */
function page(html, words = {}) {
  const all = { [picks.visit]: visit, [picks.seen_by]: seenBy(), ...words };
  const made = parse(Object.entries(all).reduce((text, [from, to]) => text.replaceAll(from, () => markup(to)), html));
  for (const number of made.querySelectorAll("input[name=submission]")) number.defaultValue = fresh();
  return made;
}

const piece = (html, words) => [...page(html, words).body.children].map((one) => document.adoptNode(one));

/** What stands around a place. */
const wordsFor = (key, name, part) => ({ "%PLACE%": key, "%NAME%": name, "%PART%": part });
const nameOf = (link) => link.ariaLabel.replace(/^Record a finding: /, "").split(": ")[0];
const keyOf = (picker) => picker.querySelector("input[name=place]").value;
const partOf = (element) => element.closest(".part > details").id;

/**
 * What the page says of a place. @param {Element} cell
 * @returns {{entry: string, words: string, found?: string, aspect?: string, value?: string, quality?: string[], answer?: number, note?: string}[]}
 */
const saidAt = (cell) =>
  [...cell.querySelectorAll("[data-entry]")].map((one) => ({ entry: one.dataset.entry, words: one.matches("a") ? "nothing found" : one.textContent, ...JSON.parse(one.dataset.said ?? "{}") }));

/** The places from here down that nobody spoke of, as the gesture of the section covers them. */
function down(cell, key) {
  const all = [...document.querySelectorAll(`#${partOf(cell)}-sweeps .sweep`)].map((button) => button.dataset.places.split(" "));
  const mine = all.find((places) => places.includes(key)) ?? [];
  const from = mine.findIndex((place) => place.split(".")[0] === key.split(".")[0]);
  const open = (place) => document.querySelector(`a[data-pick="${place}"]`)?.closest(".cell").querySelector(".dots");
  return from < 0 ? [] : mine.slice(from).filter(open);
}

/** A place beside others of its limb: its region, on the axis with its side. */
function shortOf(key) {
  const cell = document.querySelector(`a[data-pick="${key}"]`).closest(".cell");
  const row = cell.closest(".exam-row");
  const name = row.querySelector(".place").firstChild.textContent.trim();
  const sided = partOf(cell) === "axial" && row.querySelectorAll(".cell").length > 1;
  return sided ? `${name} (${cell.classList[1].replace("middle", "midline")})` : name;
}

/** One gesture from here down, where there is more than this place to cover. */
function gesture(picker, places) {
  const [button, which] = [picker.querySelector("[data-places]"), picker.querySelector(".which")];
  if (places.length < 2) return [button, which].forEach((one) => one.remove());
  button.dataset.places = places.join(" ");
  button.textContent = button.textContent.replace(/\d+/, places.length);
  which.querySelector("p").textContent = places.map(shortOf).join(" · ");
}

/** Opens a place under its row. @param {HTMLAnchorElement} link @returns {{entry: string, question?: string}[] | null} what was said there; null: ask the practice */
function place(link) {
  const key = link.dataset.pick;
  const region = picks.regions[key.split(".")[0]];
  if (!region) return null;
  const [cell, row] = [link.closest(".cell"), link.closest(".exam-row")];
  const side = cell.matches(".left") ? "of-left" : cell.matches(".right") ? "of-right" : "";
  const words = wordsFor(key, nameOf(link), partOf(link));
  const [picker] = piece(picks.frame, { ...words, "%SIDE%": side, "%WHY%": region.why });
  const asks = (numbers) => piece(numbers.map((number) => picks.asks[number]).join(""), words);
  picker.querySelector(":scope > .ask").replaceWith(...asks(region.first));
  const others = picker.querySelector(".others");
  if (region.others.length) others.querySelector(".ask").replaceWith(...asks(region.others));
  else others.remove();
  const usual = picker.querySelector("[data-order]");
  if (!region.usual.length) usual.remove();
  else usual.lastElementChild.replaceWith(...region.usual.map(([study, text]) => Object.assign(usual.lastElementChild.cloneNode(), { value: study, textContent: text })));
  if (!region.why) picker.lastElementChild.remove();
  const last = row.querySelector(`.last.${cell.classList[1]}`);
  if (last) picker.querySelector(".picker-head").after(Object.assign(document.createElement("p"), { className: "soft small", textContent: last.textContent.replace(/^.*?last time/, "Last time") }));
  gesture(picker, down(cell, key));
  close(row.querySelector(".picker"));
  row.append(picker);
  cell.classList.add("open");
  link.ariaExpanded = "true";
  const said = saidAt(cell);
  for (const one of said) tell(picker, one);
  return said.map((one) => ({ entry: one.entry, question: one.found && questionOf(picker, key, one) }));
}

/** What a line is an answer to, as a form asks it: place, code, and the side of the limb where that is asked apart. */
function questionOf(picker, key, said) {
  const apart = askOf(picker, said)?.querySelector("input[name=aspect]");
  return [key, said.found.split(":")[0], apart ? said.aspect : ""].join(" ");
}

/** The question that a line answers. */
function askOf(picker, { found, aspect = "" }) {
  const all = [...picker.querySelectorAll(`.ask[data-code="${found.split(":")[0]}"]`)];
  return all.find((ask) => (ask.querySelector("input[name=aspect]")?.value ?? "") === aspect) ?? all[0];
}

/** Says in an open picker what was said there, with its way to more and its way back. `was` is what it corrects. */
function tell(picker, said) {
  if (picker.querySelector(`[data-line="${said.entry}"]`)) return;
  const words = { ...wordsFor(keyOf(picker), "", partOf(picker)), [picks.entry]: said.entry, "%WORDS%": said.words.replace(`${picker.ariaLabel}, `, "") };
  const [line] = piece(picks.said, words);
  const [back] = piece(picks.back, words);
  if (said.was) for (const old of picker.querySelectorAll(`[data-line="${said.was}"], form:has(> [name=was][value="${said.was}"])`)) old.remove();
  if (said.note) line.querySelector("b").after(` “${said.note}”`);
  if (!picks.details[said.found?.split(":")[0]]) line.querySelector("a")?.remove();
  else line.said = said;
  const lines = picker.querySelectorAll(":scope > .line");
  (lines[lines.length - 1] ?? picker.querySelector(".picker-head")).after(line);
  picker.querySelector("details.fold:last-of-type").append(back);
  picker.querySelector(":scope > .fresh")?.remove();
  const ask = said.found && askOf(picker, said);
  if (!ask) return;
  for (const button of ask.querySelectorAll("button[value*=':']")) button.ariaPressed = String(button.value === said.found);
  for (const box of ask.querySelectorAll("[type=checkbox]")) box.defaultChecked = (said.value ?? "").split(" ").includes(box.value);
  const number = ask.querySelector("input[name=answer]");
  if (number) number.defaultValue = said.answer ?? "";
}

/** The second form, filled in with what was said. @returns {boolean} */
function detail(link) {
  const [picker, said] = [link.closest(".picker"), link.closest(".line").said ?? saidAt(link.closest(".exam-row")).find((one) => one.entry === link.closest(".line").dataset.line)];
  const [code, answer] = (said?.found ?? "").split(":");
  if (!picks.details[code]) return false;
  const key = keyOf(picker);
  const [form] = piece(picks.details[code], { ...wordsFor(key, "", partOf(picker)), [picks.entry]: said.entry });
  for (const found of form.querySelectorAll("[name=found]")) {
    if (found.type === "hidden") found.defaultValue = said.found;
    else found.defaultChecked = found.value === `${code}:${answer}`;
  }
  const near = picks.regions[key.split(".")[0]].aspects;
  for (const option of [...form.elements.aspect.options].slice(1)) {
    if (!near.includes(option.value)) option.remove();
    else option.defaultSelected = option.value === said.aspect;
  }
  const quality = said.quality ?? [];
  for (const box of form.querySelectorAll("[name=quality]")) box.defaultChecked = quality.includes(box.value);
  for (const extra of form.querySelectorAll("[name=extra]")) {
    const before = `${form.querySelector(`label[for="${extra.id}"]`).firstChild.textContent.replace(/\s*\(.*/, "").trim().toLowerCase()}: `;
    extra.defaultValue = quality.find((one) => one.startsWith(before))?.slice(before.length) ?? "";
  }
  if (form.elements.answer) form.elements.answer.defaultValue = said.answer ?? "";
  form.elements.note.defaultValue = said.note ?? "";
  picker.querySelector("form.detail")?.remove();
  const lines = picker.querySelectorAll(":scope > .line");
  lines[lines.length - 1].after(form);
  (form.querySelector(":checked") ?? form.elements.note).focus({ preventScroll: true });
  return true;
}

/** A condition, a test or a screen that opens when it is wanted; not where a caution has to be answered first. */
function section(link) {
  const { pick, into } = link.dataset;
  const [kind, code] = pick.split("-");
  if (kind === "flexion" && document.getElementById("go-on")) return false;
  const scale = document.querySelector(`#${kind}-body input[name=scale]`)?.value ?? link.dataset.scale;
  const name = code === undefined || kind === "neuro" ? pick : { gait: "gait", flexion: "flexions" }[kind];
  const found = Object.keys(picks.moving).find((one) => one === name || one === `${name} ${scale}`);
  const made = found && page(picks.moving[found]);
  const part = made?.getElementById(code === undefined || kind === "neuro" ? into : pick);
  if (!part) return false;
  const target = document.getElementById(into);
  if (part.id === into) target.replaceChildren(...[...part.childNodes].map((one) => document.adoptNode(one)));
  else if (!document.getElementById(pick)) target.append(document.adoptNode(part));
  target.querySelector("button, input:not([type=hidden])")?.focus({ preventScroll: true });
  return true;
}

/**
 * Opens what a link names, without the practice. @param {HTMLAnchorElement} link
 * @returns {{entry: string, question?: string}[] | null} what was said at it; null: not here, ask the practice
 */
function pick(link) {
  if (link.dataset.into) return section(link) ? [] : null;
  if (link.dataset.pick) return place(link);
  if (link.closest(".line")) return detail(link) ? [] : null;
  if (!link.closest(".picker-head")) return null;
  close(link.closest(".picker"));
  return [];
}
