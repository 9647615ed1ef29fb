// Makes a page equal to a fetched one and touches only what differs: the row under the hand stays where it is, folds
// stay as they are, what is being typed is not taken away, and no button moves between its press and its click.

/** Markup without what differs each time it is made. */
const plain = (element) => element.outerHTML.replace(/(name="submission" value=")[^"]*/g, "$1").replace(/ open=""/g, "");

/** The outermost parts with a name of their own, in something that has one. */
const named = (element) => [...element.querySelectorAll("[id]")].filter((one) => one.parentElement.closest("[id]") === element);

/** What stands around the named parts. */
function frame(element) {
  const copy = element.cloneNode(true);
  for (const part of named(copy)) part.replaceWith(document.createElement("i"));
  return plain(copy);
}

const FIELDS = "input:not([type=hidden]), textarea, select";

/** Whether words, picks or ticks stand in here that were not sent. */
export const typed = (element) =>
  [...(element.matches(FIELDS) ? [element] : element.querySelectorAll(FIELDS))].some((field) => {
    if (field.form?.hasAttribute("data-kept")) return false;
    if (field.type === "radio" || field.type === "checkbox") return field.checked !== field.defaultChecked;
    if (field.options) return [...field.options].some((option) => option.selected !== option.defaultSelected) && field.selectedIndex > 0;
    return field.value !== field.defaultValue;
  });

/** The folds of a part that replaces another stand as the hand left them. */
function replace(old, next) {
  const folds = (one) => [one, ...one.querySelectorAll("details")].filter((fold) => fold.matches("details"));
  const [before, after] = [folds(old), folds(next)];
  const same = (fold, other) => fold.querySelector("summary")?.textContent === other.querySelector("summary")?.textContent;
  after.forEach((fold, n) => {
    const was = before.find((other) => fold.id && other.id === fold.id) ?? before.find((other) => same(fold, other)) ?? (before.length === after.length && before[n]);
    if (was) fold.open = was.open;
  });
  old.replaceWith(document.adoptNode(next));
}

/**
 * @param {Element} old @param {Element} next the same part of the fetched page
 * @param {Element[]} left parts that were left as they are because something is being typed there
 */
function renewed(old, next, left) {
  if (plain(old) === plain(next)) return;
  const [parts, others] = [named(old), named(next)];
  const alike = parts.length > 0 && parts.length === others.length && parts.every((part, n) => part.id === others[n].id);
  if (alike && frame(old) === frame(next)) return parts.forEach((part, n) => renewed(part, others[n], left));
  if (typed(old)) left.push(old);
  else replace(old, next);
}

/**
 * Renew parts of the page from a fetched one. Focus and scroll stay where the hand is.
 * @param {Document} fresh @param {string[]} ids @param {string} [row] the row under the hand
 * @returns {Element[]} parts that are not renewed because something is being typed there
 */
export function renew(fresh, ids, row) {
  const hand = () => (row && document.getElementById(row)) || document.activeElement?.closest?.("[id]");
  const [back, place] = [trace(document.activeElement), document.activeElement?.name === "place" && document.activeElement.value];
  const [held, before] = [hand()?.id, hand()?.getBoundingClientRect().top];
  const left = [];
  for (const id of ids) {
    const [old, next] = [document.getElementById(id), fresh.getElementById(id)];
    if (old && next) renewed(old, next, left);
  }
  enhance();
  // The ring of a place is gone once it has said nothing found: the keys go on from what stands there instead.
  const instead = () => (place ? document.querySelector(`a[data-pick="${CSS.escape(place)}"]`) : null);
  if (back && document.activeElement === document.body) (document.querySelector(back) ?? instead())?.focus({ preventScroll: true });
  const after = held && document.getElementById(held)?.getBoundingClientRect().top;
  if (before !== undefined && after !== undefined) scrollBy(0, after - before);
  return left;
}

/** Milliseconds after a finger is lifted within which its click comes. */
const CLICK = 120;
/** A finger that stays down longer is not pressing anything. */
const LONGEST = 1500;

let down = false, timer;
const waits = [];

function up() {
  clearTimeout(timer);
  down = false;
  for (const go of waits.splice(0)) go();
}

function upIn(milliseconds) {
  clearTimeout(timer);
  timer = setTimeout(up, milliseconds);
}

addEventListener("pointerdown", () => { down = true; upIn(LONGEST); }, true);
addEventListener("pointerup", () => { if (down) upIn(CLICK); }, true);
addEventListener("click", () => { if (down) upIn(0); }, true);
addEventListener("pointercancel", up, true);

/** Once no finger is on its way: a button that moved between its press and its click would not be pressed. */
export const lifted = () => (down ? new Promise((go) => waits.push(go)) : Promise.resolve());
