// The sections of the exam: the bar leads to any of them, and the gesture that finishes one folds it and brings the
// next one to where the thumb already is. Nothing else ever folds or moves.

/** A gloved thumb bounces: for so many milliseconds after a section was brought under it, gestures rest. */
const BOUNCE = 700;

const head = (id) => document.querySelector(`#${id} > summary`);
const bar = () => document.getElementById("bar");
const sections = () => [...bar().querySelectorAll("[data-goto]")].map((link) => link.dataset.goto);
let pending = null, calm;

/** The lowest edge of what sticks to the top. */
const edge = () => bar().getBoundingClientRect().bottom;

/** Puts the rows of a folded section in: until it is opened they stand by as a template. @param {ParentNode} part */
export function unpack(part) {
  const rows = part.querySelector("template[data-rows]");
  rows?.replaceWith(rows.content);
}

/**
 * Opens a section and puts its head at a height of the window. @param {string} id @param {number} [top]
 */
export function goTo(id, top = edge() + 4) {
  const fold = document.getElementById(id);
  if (!fold) return;
  unpack(fold);
  fold.open = true;
  scrollBy(0, head(id).getBoundingClientRect().top - top);
  head(id).focus({ preventScroll: true });
}

/** Folds the finished section; the head of the next stands where its head stood. */
function goOn() {
  const { id, top } = pending;
  pending = null;
  const after = sections().slice(sections().indexOf(id) + 1);
  const next = after.find((other) => !document.getElementById(`${other}-count`)?.hasAttribute("data-done"));
  if (!next || !document.getElementById(id)?.open) return;
  document.getElementById(id).open = false;
  goTo(next, Math.max(top, edge() + 4));
  rest();
}

/** Gestures look and are out of reach for a moment. */
function rest() {
  document.body.classList.add("calm");
  clearTimeout(calm);
  calm = setTimeout(() => document.body.classList.remove("calm"), BOUNCE);
}

addEventListener("submit", (event) => {
  const gesture = event.submitter?.closest("[data-sweep], [data-finishes]");
  if (!gesture) return;
  const id = gesture.dataset.sweep || gesture.dataset.finishes;
  pending = { id, top: head(id).getBoundingClientRect().top, whole: gesture.matches(".both, [data-finishes]") };
}, true);

// Whoever has gone on elsewhere is not brought back by an answer that comes late.
for (const event of ["pointerdown", "keydown"]) addEventListener(event, () => { pending = null; }, true);

// The answer of the practice, or the word that it is safe on the tablet.
new MutationObserver(() => {
  if (pending && document.getElementById(`${pending.id}-count`)?.hasAttribute("data-done")) goOn();
}).observe(document.body, { childList: true, subtree: true });
document.addEventListener("queue", ({ detail }) => {
  if (pending?.whole && detail?.state === "here") goOn();
});

// Before the fold opens, so that nothing jumps; and whatever else opens it.
for (const event of ["click", "toggle"]) {
  document.addEventListener(event, ({ target }) => {
    const fold = target.closest?.(".part > .fold");
    if (fold && (event === "toggle" ? fold.open : target.closest("summary"))) unpack(fold);
  }, true);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("[data-goto]");
  if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  goTo(link.dataset.goto);
});

// Enter goes to the next field of a form of numbers, and from the last one sends it.
document.addEventListener("keydown", (event) => {
  const field = event.target;
  if (event.key !== "Enter" || event.isComposing || !field.matches?.("#vitals-form input[inputmode]")) return;
  const fields = [...field.form.querySelectorAll("input[inputmode]")];
  const next = fields[fields.indexOf(field) + 1];
  if (!next) return;
  event.preventDefault();
  next.focus();
  next.select();
});
