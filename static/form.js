// What a form of the exam says: to people in words, to the practice in fields.
import { fresh } from "./queue.js";

/** Ids made here for the entries of a form, as many as it can make. */
const ENTRIES = { sweep: 48, undo: 48, record: 60, vitals: 12, standing: 8, gait: 5, flexion: 5, neuro: 5 };

/** The name of a control, as a screen reader says it. */
export const words = (element) => (element.ariaLabel || element.innerText || element.textContent).trim().replace(/\s+/g, " ");

/** What a form says, for people: where it stands, the button, and everything typed. */
export function told(form, button) {
  const head = form.closest("[role=group][aria-label]") ?? document.getElementById(form.getAttribute("aria-labelledby")) ?? form.closest("section")?.querySelector("h2");
  const fields = [...form.elements].filter((field) => field.type !== "hidden" && field.type !== "submit" && field.value && (!/radio|checkbox/.test(field.type) || field.checked));
  const picked = (field) => (field.options ? words(field.selectedOptions[0]) : field.type === "radio" && field.labels[0] ? words(field.labels[0]) : field.value);
  const said = fields.map((field) => [field.labels?.[0] && words(field.labels[0]), picked(field)]);
  const typed = said.map(([label, value]) => (!label || label === value ? value : `${label}: ${value}`));
  return [head && words(head), button && words(button), ...typed].filter(Boolean).join(", ");
}

/** The fields as the form would be sent, without what the queue stamps on it. @returns {[string, string][]} */
export function fieldsOf(form, button) {
  const fields = [...new FormData(form)].filter(([name]) => !["submission", "seen_at", "sent_at", "entry"].includes(name));
  return button?.name ? [...fields, [button.name, button.value]] : fields;
}

/** Ids for the entries that an act makes. @param {string} act the last step of the address */
export const ids = (act) => Array.from({ length: ENTRIES[act] ?? 3 }, () => ["entry", fresh()]);
