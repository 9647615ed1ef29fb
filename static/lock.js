// The lock of a signed-in page: whoever leaves the tablet alone finds it locked, with all that was typed still under
// the cover, and their PIN opens it with or without the practice. Stands on the lock and sign-in pages too.
import { account, hasPin, key, keepPin, lock, opened, openedByServer, pins, shut, touch, unlock } from "./keys.js";
import { keeps } from "./store.js";

const LOOK = 5_000;
const PATIENCE = 6_000;

/** An element with its attributes and what stands in it. */
function make(name, attributes = {}, ...inside) {
  const element = Object.assign(document.createElement(name), attributes);
  element.append(...inside);
  return element;
}

/** What the server says to a secret: "open", "wrong", "slow", "over" (signed out), or "silent". */
async function ask(secret) {
  try {
    // Where it leads when it is right is a page that tells nothing and costs nothing.
    const body = new URLSearchParams({ secret, next: "/healthz" });
    const answer = await fetch("/locked", { method: "POST", body, signal: AbortSignal.timeout(PATIENCE) });
    const page = new URL(answer.url).pathname;
    if (answer.ok && page === "/healthz") return "open";
    if (page === "/sign-in") return "over";
    return { 422: "wrong", 429: "slow" }[answer.status] ?? "silent";
  } catch {
    return "silent";
  }
}

/** Tries to open the tablet. @returns {Promise<string>} what to say; empty when it is open */
async function tried(secret, who) {
  const answer = await ask(secret);
  if (answer === "open" && ((await openedByServer(secret)) || !(await keeps()))) return "";
  if (answer === "wrong") return "That did not unlock it. Try again, or sign in as somebody else.";
  if (answer === "slow") return "Too many attempts. Wait a minute, then try again.";
  if (answer === "over") {
    location.assign(`/sign-in?next=${encodeURIComponent(location.pathname)}`);
    return "Your sign-in is over: sign in again. What waits here is kept.";
  }
  const { open, left } = await unlock(secret, who);
  if (open) return "";
  if (left === null) return "The practice does not answer, and this tablet knows no PIN of yours. What waits here is kept.";
  if (left <= 0) return "Five wrong tries: now only the practice opens this tablet, once it answers. What waits here is kept.";
  return `The practice does not answer, and this is not the PIN. Tries left here: ${left}.`;
}

/** Makes a form take a secret and open the tablet. @param {HTMLFormElement} form @param {() => void} then */
function guard(form, who, then) {
  const [input, button] = [form.querySelector("input[type=password]"), form.querySelector("button")];
  const wrong = make("p", { className: "error", id: "lock-wrong", role: "alert", hidden: true });
  input.before(wrong);
  input.setAttribute("aria-describedby", wrong.id);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    if (button.disabled) return;
    button.disabled = true;
    wrong.hidden = true;
    const words = await tried(input.value, who());
    button.disabled = false;
    if (!words) return then();
    input.value = "";
    wrong.textContent = words;
    wrong.hidden = false;
    input.focus();
  });
}

function pinForm(people) {
  const whose = make("select", { id: "lock-who" }, ...people.map((one) => make("option", { value: one.account }, one.name)));
  const input = make("input", { id: "lock-secret", type: "password", autocomplete: "off", inputMode: "numeric" });
  const field = (label, control) => make("div", { className: "field" }, make("label", { htmlFor: control.id }, label), control);
  const form = make("form", { noValidate: true }, ...(people.length > 1 ? [field("Whose PIN", whose)] : []),
    field(people.length ? "PIN" : "PIN or password", input), make("div", { className: "end" }, make("button", { className: "primary" }, "Unlock")));
  return { form, input, who: () => (people.length > 1 ? whose.value : people[0]?.account) };
}

let cover;
const pressed = make("p", { role: "status" });

/** Lays the lock over the page; nothing under it can be read or touched. @param {string} [news] what waits for it */
function shutOver(news) {
  if (news) pressed.textContent = news;
  if (cover) return;
  const { form, input, who } = pinForm([account]);
  form.querySelector("label").textContent = "PIN or password";
  const others = make("p", {}, make("a", { className: "button", href: "/sign-in" }, "Sign in as somebody else"));
  cover = make("section", { className: "lock-over", role: "dialog", ariaModal: "true", ariaLabel: "Locked" },
    make("h1", {}, `Locked for ${account.name}`), pressed, form, others);
  guard(form, who, lift);
  for (const part of document.body.children) part.inert = true;
  document.body.append(cover);
  document.documentElement.classList.add("is-locked");
  input.focus();
}

function lift() {
  cover?.remove();
  cover = undefined;
  pressed.textContent = "";
  document.documentElement.classList.remove("is-locked");
  for (const part of document.body.children) part.inert = false;
}

/** Looks whether the tablet is open for this page's account, be it since somebody signed in on another page. */
async function look() {
  const open = await opened();
  if (open ? open.account === account.id : await key()) lift();
  else shutOver();
}

let touched = 0;
function hand() {
  if (cover || Date.now() - touched < 10_000) return;
  touched = Date.now();
  touch();
}

/** Setting a PIN is the moment when this tablet can learn it. @param {HTMLFormElement} form */
function learns(form) {
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), redirect: "manual" }).catch(() => null);
    if (answer?.type === "opaqueredirect") {
      await (keepPin(form.elements.pin.value).then((kept) => kept || openedByServer()));
      location.assign("/me");
    } else if (answer) swap("#main", parse(await answer.text()));
    else say("Not saved - no connection. Try again.", true);
    document.querySelectorAll("form[action='/me/pin']").forEach((fresh) => fresh !== form && learns(fresh));
  });
}

async function signedIn() {
  for (const form of document.querySelectorAll("form[action='/me/pin']")) learns(form);
  if (!(await keeps())) return;
  document.addEventListener("queue", ({ detail }) => detail.state === "shut" && shutOver("What was just pressed is saved once it is open."));
  document.querySelector("form[action='/lock']")?.addEventListener("submit", async (event) => {
    event.preventDefault();
    event.stopPropagation();
    await lock();
    location.assign("/locked");
  });
  // Without a key there is nothing here to lock; the server still locks its pages.
  if (!(await key()) && !(await opened()) && !(await hasPin())) return;
  addEventListener("pointerdown", hand, true);
  addEventListener("keydown", hand, true);
  document.addEventListener("locked", () => shutOver());
  document.addEventListener("unlocked", look);
  document.addEventListener("visibilitychange", () => document.hidden || look());
  setInterval(look, LOOK);
  look();
}

/** The page the tablet shows when the practice does not answer. @param {HTMLElement} place */
async function away(place) {
  const people = await pins();
  if (!people.length) {
    place.querySelector("[data-lock-words]").textContent =
      "The practice does not answer, and this tablet knows no PIN: it opens once the practice answers. What waits here is kept.";
    return;
  }
  const { form, input, who } = pinForm(people);
  if (people.length === 1) place.querySelector("[data-lock-head]").textContent = `Locked for ${people[0].name}`;
  place.querySelector("[data-lock-words]").textContent = "The practice does not answer. Your PIN opens what was taken along.";
  place.append(form);
  guard(form, who, () => location.reload());
  input.focus();
}

const locked = document.querySelector("form[action='/locked']");
const offline = document.getElementById("tablet-lock");
if (account) signedIn();
else if (offline) away(offline);
else {
  shut();
  if (locked) guard(locked, () => locked.dataset.account, () => location.assign(locked.elements.next.value || "/"));
}
