// The questions of a call by keyboard, while one is talking: y and n answer and go on to the next, u takes an answer back.
const KEYS = { y: "yes", n: "no", u: "" };

document.addEventListener("keydown", (event) => {
  const within = event.target.closest?.("[data-answers] fieldset");
  if (!within || !(event.key in KEYS) || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const chosen = [...within.querySelectorAll("input")].find((input) => input.value === KEYS[event.key]);
  chosen.checked = true;
  const next = event.key === "u" ? within : within.nextElementSibling?.matches("fieldset") ? within.nextElementSibling : within;
  next.querySelector("input:checked")?.focus();
  chosen.dispatchEvent(new Event("change", { bubbles: true }));
});
