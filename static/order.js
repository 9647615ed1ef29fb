// The usual set in one tap: kept on this tablet first and sent like everything else. The order's id is made here, so that
// whatever is sent again is the same order.
import { fieldsOf, told } from "./form.js";
import { add, fresh, items } from "./queue.js";

const SAYS = { here: "ordered, saved here", sent: "ordered, in the practice" };
/** What became of what was tapped on this page, by visit, study and where: "here", "sent" or "" for refused. */
const states = new Map();

const isOrder = (item) => item?.url?.endsWith("/diagnostics/usual");
const keyOf = (fields) => {
  const get = (name) => fields.find(([field]) => field === name)?.[1] ?? "";
  return `${get("study")}@${get("place") || get("limb")}`;
};
const named = (visit, key) => `${visit} ${key}`;

/** Says at each button what became of its order. */
function show() {
  const known = (document.getElementById("saved")?.dataset.ordered ?? "").split(" ");
  for (const button of document.querySelectorAll("[data-order] button")) {
    const key = keyOf(fieldsOf(button.form, button));
    const says = SAYS[states.get(named(button.form.dataset.order, key)) ?? (known.includes(key) ? "sent" : "")];
    if (button.nextElementSibling?.matches("small.here")) button.nextElementSibling.remove();
    button.ariaDisabled = says ? "true" : null;
    if (says) button.after(Object.assign(document.createElement("small"), { className: "here", textContent: says }));
  }
}

function note(item, state) {
  if (!isOrder(item)) return;
  states.set(named(item.visit, keyOf(item.fields)), state);
  show();
}

addEventListener("submit", async (event) => {
  const [form, button] = [event.target, event.submitter];
  if (!form.matches("[data-order]") || form.hasAttribute("data-plain")) return;
  event.preventDefault();
  event.stopPropagation();
  if (button.ariaDisabled === "true") return;
  button.ariaDisabled = "true";
  const fields = [...fieldsOf(form, button), ["order", fresh()]];
  try {
    await add({ url: form.getAttribute("action"), visit: form.dataset.order, words: told(form, button), fields });
  } catch {
    // A form is not sent while it is still being told that it is.
    await new Promise((told) => setTimeout(told));
    button.ariaDisabled = null;
    form.toggleAttribute("data-plain", true);
    form.requestSubmit(button);
  }
}, true);

document.addEventListener("queue", ({ detail: { item, state } }) => {
  if (item) note(item, state === "refused" ? "" : state);
});
document.addEventListener("painted", show);
items("here").then((all) => all.forEach((item) => note(item, "here")));
show();
