// The queue: what is recorded is kept on this tablet first, then sent in the order of the hands, and sent again until
// the practice has said that it holds it. A form has one number, so sent twice it is taken once.
//
// On `document` it tells each step as a `queue` event: {item, state: "here" | "sent" | "refused" | "waits" | "shut"}.
import { account } from "./keys.js";
import { Locked, all, append, drop, get, put, seal, unseal } from "./keep.js";

/** Seconds between tries. */
const WAITS = [1, 2, 4, 8, 15, 30];
/** No answer after so many seconds is no connection. */
const PATIENCE = 20;

/** Why nothing is sent just now: "" | "no connection" | "signed out" | "locked". */
export const state = { stopped: "" };

/** A fresh UUID of version 7. @returns {string} */
export function fresh() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let time = Date.now();
  for (let at = 5; at >= 0; at--, time = Math.floor(time / 256)) bytes[at] = time % 256;
  bytes[6] = 0x70 | (bytes[6] & 15);
  bytes[8] = 0x80 | (bytes[8] & 63);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}

const tabs = new BroadcastChannel("limbledger queue");
const tell = (detail) => document.dispatchEvent(new CustomEvent("queue", { detail }));
const about = (row) => `${row.id} ${row.account} ${row.visit}`;

/** Tells this page and, with no words in it, the other tabs. */
function told(item, step, more = {}) {
  tell({ item, state: step, ...more });
  tabs.postMessage({ account: account?.id, id: item.id, visit: item.visit, step });
}

tabs.onmessage = async ({ data }) => {
  if (data.account !== account?.id) return;
  const row = data.step === "here" && (await get("queue", data.id));
  const item = row ? await opened(row) : null;
  tell({ item: item ?? { id: data.id, visit: data.visit }, state: data.step });
};

/** What a row says together with its number; null while locked. A damaged one says so in its words. */
async function opened(row) {
  const plain = { id: row.id, visit: row.visit, state: row.state, film: row.film };
  try {
    const said = await unseal(row, about(row));
    return said && { ...said, ...plain };
  } catch {
    return { ...plain, state: "refused", words: "An entry that this tablet cannot read any more", fields: [], damaged: true };
  }
}

/** Milliseconds after which a locked tablet looks again whether it is open. */
const LOOK = 2000;

/** Seals a form. One that was pressed just when the tablet locked waits under the lock until it is opened. */
async function sealed(said, row) {
  for (let shut = false; ; shut = true) {
    try {
      return await seal(said, about(row));
    } catch (fault) {
      if (!(fault instanceof Locked)) throw fault;
    }
    if (!shut) tell({ item: said, state: "shut" });
    await new Promise((open) => {
      document.addEventListener("unlocked", open, { once: true });
      setTimeout(open, LOOK);
    });
  }
}

let line = Promise.resolve();

/**
 * Keep a form and send it. Resolves when it is safe on this tablet, on a locked one once it is opened; rejects when the
 * tablet could not keep it.
 * @param {{url: string, fields: [string, string][], visit: string, words: string, row?: string, names?: string}} form
 *   `words` say it to people; `row` and `names` are where it stands on the page
 * @param {{id?: string, film?: string}} [own] a number that it has already; of a video, which waits behind all forms, the
 *   number of its pieces (film.js)
 */
export function add(form, { id = fresh(), film } = {}) {
  const fields = form.fields.filter(([name]) => !["submission", "seen_at", "sent_at"].includes(name));
  fields.push(["submission", id], ["seen_at", String(Date.now())]);
  if (!fields.some(([name]) => name === "entry")) fields.push(["entry", fresh()]);
  const said = { ...form, fields };
  const kept = line.then(async () => {
    if (!account) throw new Error("nobody is signed in");
    const row = { id, account: account.id, name: account.name, visit: form.visit, state: "here", ...(film && { film }) };
    await append("queue", { ...row, ...(await sealed(said, row)) });
    const item = { ...said, id, visit: form.visit, state: "here" };
    told(item, "here");
    send();
    return item;
  });
  line = kept.catch(() => {});
  return kept;
}

const rows = async (step, visit) =>
  account ? (await all("queue", account.id)).filter((row) => row.state === step && (!visit || row.visit === visit)) : [];
const forms = async (visit) => (await rows("here", visit)).filter((row) => !row.film);

/** How many forms wait to be sent. @param {string} [visit] */
export const waiting = async (visit) => (await forms(visit)).length;

/** How many videos wait to be sent. */
export const films = async () => (await rows("here")).filter((row) => row.film).length;

/** The forms that wait, in words, in order; or what was refused. @param {"here" | "refused"} step @param {string} [visit] */
export const items = async (step, visit) =>
  (await Promise.all((await (step === "here" ? forms(visit) : rows(step, visit))).map(opened))).filter(Boolean);

/** Take a refused one out of the line, once something else has come of it. */
export async function settle(id) {
  await drop("queue", id);
  told({ id }, "sent");
}

let busy, again, timer, tries = 0;

/** Send what waits: one sender at a time, whatever the number of tabs. */
export function send() {
  again = true;
  busy ??= (async () => {
    clearTimeout(timer);
    while (again) {
      again = false;
      await navigator.locks.request("limbledger queue", drain);
    }
  })().finally(() => { busy = undefined; });
  return busy;
}

/** How a video is sent, on pages that do: a step at a time, so that no form waits for all of it. */
export const ways = { film: null };

const next = async () => (await forms())[0] ?? (ways.film && (await rows("here"))[0]);

async function drain() {
  for (;;) {
    const row = await next();
    if (!row) {
      tries = 0;
      return stop("");
    }
    const why = await post(row);
    if (why) return later(why);
    tries = 0;
    stop("");
  }
}

function stop(why) {
  const changed = state.stopped !== why;
  state.stopped = why;
  if (changed || why) tell({ item: null, state: "waits" });
}

function later(why) {
  stop(why);
  const seconds = WAITS[Math.min(tries++, WAITS.length - 1)];
  timer = setTimeout(send, seconds * (800 + 400 * Math.random()));
}

/**
 * Ask the practice.
 * @returns {Promise<{why: string, answer?: Response, text?: string}>} why there is no answer of its own; else the answer
 */
export async function ask(url, method, body, seconds = PATIENCE) {
  let answer, text;
  try {
    const headers = { Prefer: "return=minimal", "For-Account": account.id };
    answer = await fetch(url, { method, body, headers, redirect: "manual", signal: AbortSignal.timeout(seconds * 1000) });
    text = await answer.text();
  } catch {
    return { why: "no connection" };
  }
  // An answer that is not the practice's own, from some gate on the way, says nothing.
  if (!answer.headers.has("Preference-Applied") || answer.status >= 500 || answer.status === 429) return { why: "no connection" };
  return { why: { 401: "signed out", 423: "locked" }[answer.status] ?? "", answer, text };
}

/** Send one. @returns {Promise<string>} why it could not be sent; empty when it is settled, or a step of it is done */
async function post(row) {
  const item = await opened(row);
  if (!item) return "locked";
  if (item.damaged) return refused(row, item, item.words);
  if (row.film) return ways.film(row, item);
  const { why, answer, text } = await ask(item.url, "POST", new URLSearchParams([...item.fields, ["sent_at", String(Date.now())]]));
  if (why) return why;
  if (answer.status === 204) return taken(row, item);
  const page = parse(text);
  return refused(row, item, words(page), answer.status, page);
}

/** The practice holds it. */
export async function taken(row, item) {
  await drop("queue", row.id);
  told(item, "sent");
  return "";
}

/** What the practice says against it. */
function words(page) {
  const faults = [...page.querySelectorAll(".errors li, .field-error, .error")].map((one) => one.textContent.trim());
  return [...new Set(faults)].join(" ") || page.querySelector("h1")?.textContent.trim() || "It was not taken.";
}

/** It stays, out of the way of the others, until somebody decides what becomes of it. */
export async function refused(row, item, why, status = 0, page = null) {
  const said = item.damaged ? row : { ...row, ...(await seal({ ...item, why }, about(row))) };
  await put("queue", { ...said, state: "refused" });
  told({ ...item, why, state: "refused" }, "refused", { page, status });
  return "";
}

if (account) {
  for (const event of ["online", "focus", "pageshow"]) addEventListener(event, send);
  send();
}
