// The exam for a scribe with a keyboard. Every key here is told on the page under "Keys". None acts while words are
// typed; the line has its own (line.js), and digits act only on the question that has the focus.
import { goTo } from "./sections.js";

const sections = () => [...document.querySelectorAll("#bar [data-goto]")].map((link) => link.dataset.goto);
const types = (element) => element.matches("textarea, select, input:not([type=checkbox], [type=radio])");

/** The section that has the focus, or the one that stands open. */
function here(element) {
  const all = sections();
  return Math.max(all.findIndex((id) => document.getElementById(id)?.contains(element)), all.findIndex((id) => document.getElementById(id)?.open && element === document.body));
}

const controls = (row) =>
  [...row.querySelectorAll(".cell > a, .cell > button")].sort((a, b) => a.getBoundingClientRect().left - b.getBoundingClientRect().left);

/** The same control one row further, or the nearest to it. */
function rowwise(element, step) {
  const rows = [...element.closest(".exam").querySelectorAll(".exam-row[id]")];
  const row = rows[rows.indexOf(element.closest(".exam-row")) + step];
  if (!row) return null;
  const at = element.getBoundingClientRect().left;
  const distance = (one) => Math.abs(one.getBoundingClientRect().left - at);
  return controls(row).sort((a, b) => distance(a) - distance(b))[0];
}

function sideways(element, step) {
  const all = controls(element.closest(".exam-row"));
  return all[all.indexOf(element) + step];
}

const MOVES = {
  ArrowDown: (element) => rowwise(element, 1),
  ArrowUp: (element) => rowwise(element, -1),
  ArrowRight: (element) => sideways(element, 1),
  ArrowLeft: (element) => sideways(element, -1),
};

/** The grade of a digit, in the question or of the limb that has the focus. */
function grade(element, digit) {
  const buttons = element.closest(".ask, .grades")?.querySelectorAll("button[value]") ?? [];
  return [...buttons].find((button) => button.value.split(":").pop() === digit);
}

/** @returns {boolean} whether the key meant something here */
function plain(element, key) {
  const picker = element.closest(".picker");
  const open = (element.closest(".exam-row") ?? document).querySelector(".exam-row .picker");
  if (key === "Escape" && open) {
    const back = open.closest(".exam-row").querySelector(".cell.open a");
    open.querySelector(".picker-head a").click();
    back?.focus({ preventScroll: true });
    return true;
  }
  if (types(element)) return false;
  if (/^\d$/.test(key)) {
    const button = grade(element, key);
    button?.focus({ preventScroll: true });
    button?.click();
    return Boolean(button);
  }
  const next = !picker && element.closest(".exam-row .cell") ? MOVES[key]?.(element) : null;
  next?.focus();
  return Boolean(next);
}

function withAlt(element, key) {
  const step = { PageDown: 1, PageUp: -1 }[key];
  const all = sections();
  if (step) goTo(all[Math.min(Math.max(here(element) + step, 0), all.length - 1)]);
  return Boolean(step);
}

document.addEventListener("keydown", (event) => {
  if (event.defaultPrevented || event.isComposing || event.ctrlKey || event.metaKey) return;
  const element = document.activeElement;
  if (event.altKey ? withAlt(element, event.key) : !event.shiftKey && plain(element, event.key)) event.preventDefault();
});
