// First-party script, hooked by data-* attributes only; every page works without it.
"use strict";

// The theme chosen on this device, before the first paint; only running clocks are kept beside it.
try {
  const chosen = localStorage.getItem("theme");
  if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen;
} catch { /* a browser that keeps nothing follows the system's theme */ }

/** The one place where text becomes markup, whole pages of this server, and where the one worker is named. */
const rules = { createHTML: (text) => text, createScriptURL: () => "/worker.js" };
const pages = window.trustedTypes ? window.trustedTypes.createPolicy("limbledger", rules) : rules;
// The worker keeps pages for when the practice does not answer; browsers allow it over https only.
if (location.protocol === "https:") navigator.serviceWorker?.register(pages.createScriptURL(""), { type: "module" }).catch(() => {});

const parse = (text) => new DOMParser().parseFromString(pages.createHTML(text), "text/html");

/** Say one line, to eyes and ears. @param {string} words @param {boolean} [bad] nothing was saved */
function say(words, bad = false) {
  const line = document.getElementById("status");
  if (!line) return;
  line.classList.toggle("not-saved", bad);
  line.textContent = words;
}

/** A selector that finds a control again in a page that replaced it. @param {Element} element */
function trace(element) {
  if (element.id) return `#${CSS.escape(element.id)}`;
  if (element.href) return `a[data-swap][href="${CSS.escape(element.getAttribute("href"))}"]`;
  if (!element.name) return null;
  const form = element.form?.id && CSS.escape(element.form.id);
  const within = form ? (element.hasAttribute("form") ? `[form="${form}"]` : `#${form} `) : "";
  const value = /radio|checkbox|submit/.test(element.type) ? `[value="${CSS.escape(element.value)}"]` : "";
  return `${within}[name="${CSS.escape(element.name)}"]${value}`;
}

/**
 * Replace regions by those of a fetched page; focus and scroll stay where the hand is.
 * @param {string} names "#one, #two" @param {Document} fresh @returns {boolean} false when one is missing
 */
function swap(names, fresh) {
  const found = names.split(",").map((name) => [document.querySelector(name), fresh.querySelector(name)]);
  if (found.some(([old, next]) => !old || !next)) return false;
  const back = trace(document.activeElement);
  const [x, y] = [scrollX, scrollY];
  for (const [old, next] of found) old.replaceWith(document.adoptNode(next));
  enhance();
  const faults = document.getElementById("errors");
  (faults || (back && document.querySelector(back)))?.focus({ preventScroll: !faults });
  if (!faults) scrollTo(x, y);
  return true;
}

const ticked = (field) => (/radio|checkbox/.test(field.type) ? "checked" : "value");

/** What stands in the fields of regions when a page is asked for. @param {string} names "#one, #two" */
function standing(names) {
  const fields = document.querySelectorAll(`:is(${names}) :is(input:not([type=hidden]), select, textarea)`);
  return new Map([...fields].map((field) => [field, field[ticked(field)]]));
}

/** What was typed meanwhile stands there too. @param {Map} before @param {Document} fresh */
function carry(before, fresh) {
  for (const [field, was] of before) {
    const how = ticked(field);
    const trail = field[how] !== was && trace(field);
    const next = trail && fresh.querySelector(trail);
    if (next) next[how] = field[how];
  }
}

/**
 * Fetch a page and swap its regions in; a page without them is gone to as usual.
 * @param {string} names @param {string} url @param {RequestInit} [how] @returns {Promise<boolean>} false: no connection
 */
async function turn(names, url, how = {}) {
  const before = standing(names);
  let answer, text;
  try {
    answer = await fetch(url, how);
    text = await answer.text();
  } catch {
    return false;
  }
  const fresh = parse(text);
  const flash = fresh.getElementById("status")?.textContent.trim();
  carry(before, fresh);
  if (!swap(names, fresh)) {
    if (how.method && fresh.body.matches(".bare")) say(`Not saved: ${fresh.title}. Open another tab for it, then send again.`, true);
    else location.assign(answer.url);
    return true;
  }
  document.title = fresh.title;
  if (answer.ok) say(flash || (how.method ? "Saved." : ""));
  else say("Not saved: see what is marked.", true);
  return true;
}

/** What a press sends. @param {HTMLFormElement} form @param {HTMLButtonElement} [button] */
function fields(form, button) {
  const all = new FormData(form);
  if (button?.name) all.append(button.name, button.value);
  return new URLSearchParams(all);
}

/** What a form said that is on its way, and the button pressed since. @type {WeakMap<HTMLFormElement, { says: string, next?: HTMLButtonElement }>} */
const underway = new WeakMap();

/** Send a form, once however often it is tapped. What says something else waits its turn. @param {SubmitEvent} event */
async function submitted(event) {
  const [form, button] = [event.target, event.submitter];
  if (form.hasAttribute("data-busy")) {
    const first = underway.get(form);
    if (first && first.says !== `${fields(form, button)}`) first.next = button;
    return event.preventDefault();
  }
  const names = button?.dataset.swap || form.dataset.swap;
  form.toggleAttribute("data-busy", true);
  underway.delete(form);
  if (!names || form.enctype === "multipart/form-data") return;
  event.preventDefault();
  const body = fields(form, button);
  if (form.method === "get") {
    const shown = await turn(names, `${form.action}?${body}`);
    form.toggleAttribute("data-busy", false);
    if (!shown) say("No connection: this page is as it was.", true);
    return;
  }
  const turned = { says: `${body}` };
  underway.set(form, turned);
  const sent = await turn(names, (button && button.getAttribute("formaction")) || form.action, { method: "POST", body });
  form.toggleAttribute("data-busy", false);
  if (!sent) {
    say("Not saved - no connection. All you entered is still here: send it again.", true);
    delete form.dataset.swap; // the next try is the browser's own
    return;
  }
  const { next } = turned;
  (next?.isConnected ? next : next && document.querySelector(trace(next)))?.click();
}

/** Follow a link by swapping. @param {MouseEvent} event */
async function clicked(event) {
  const link = event.target.closest?.("a[data-swap]");
  if (!link || event.defaultPrevented || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  if (!(await turn(link.dataset.swap, link.href))) say("No connection: this page is as it was.", true);
}

/** The theme switch: the other theme, remembered on this device. @param {HTMLButtonElement} button */
function theme(button) {
  const chosen = document.documentElement.dataset;
  const other = () => (chosen.theme || (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light")) === "dark" ? "light" : "dark";
  const name = () => { button.textContent = other() === "dark" ? "Dark theme" : "Light theme"; };
  button.hidden = false;
  name();
  button.addEventListener("click", () => {
    chosen.theme = other();
    try { localStorage.setItem("theme", chosen.theme); } catch { /* it lasts for this page */ }
    name();
  });
}

/** Time since `data-since` (a UTC instant): "12 min", "1 h 5 min". */
function tick() {
  for (const clock of document.querySelectorAll("[data-since]")) {
    const minutes = Math.max(0, Math.floor((Date.now() - Date.parse(clock.dataset.since)) / 60000));
    if (Number.isFinite(minutes)) clock.textContent = minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
  }
}

/** What makes an element with a hook quicker; modules add theirs. */
const dressers = [["[data-theme-switch]", theme]];

/** Dress elements that are new on the page. */
function enhance() {
  for (const [hook, dress] of dressers) {
    for (const element of document.querySelectorAll(hook)) {
      if (!element.dressed) dress(element);
      element.dressed = true;
    }
  }
  tick();
}

document.addEventListener("submit", submitted);
// `data-sends="button"`: a change in here presses the button that shows what follows from it.
document.addEventListener("change", (event) => {
  const within = event.target.closest?.("[data-sends]");
  if (within) document.getElementById(within.dataset.sends)?.click();
});
document.addEventListener("click", clicked);
// A page out of the browser's memory can be sent again.
addEventListener("pageshow", () => document.querySelectorAll("form[data-busy]").forEach((form) => form.toggleAttribute("data-busy", false)));
// It stands in the head, for the theme's sake: one file instead of two on a first visit.
document.addEventListener("DOMContentLoaded", enhance);
setInterval(tick, 10000);
