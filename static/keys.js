// The key of this account on this tablet. The server makes it and hands it to the account that is signed in and
// unlocked; here it cannot be read out again, only used, and it goes when the tablet is locked or left alone. A copy
// sealed with the PIN stays, so that the lock opens without a signal: five tries, then only the server opens it.
import { all, drop, get, keeps, put, update } from "./store.js";

const ROUNDS = 600_000;
const TRIES = 5;
const PIN = /^\d{6}$/;

const meta = globalThis.document?.querySelector("meta[name=account]");

/** Who the page belongs to; null on pages of nobody and in the worker. @type {{id: string, name: string}|null} */
export const account = meta ? { id: meta.content, name: meta.dataset.name } : null;

const announce = (what) => globalThis.document?.dispatchEvent(new Event(what));

/** Whose key is open on this tablet, if any. An idle one is locked by asking. */
export async function opened() {
  const row = await get("keys", "open");
  if (!row) return null;
  if (Date.now() - row.touched < row.idle * 60_000) return row;
  await lock();
  return null;
}

let asking;

/** The key to seal and unseal with, or null: locked, or nobody. @returns {Promise<CryptoKey|null>} */
export async function key() {
  const open = await opened();
  if (open && (!account || open.account === account.id)) return open.key;
  if (!account || (await get("keys", "untold"))) return null;
  asking ??= handed().finally(() => (asking = undefined));
  const row = await asking;
  return row?.account === account.id ? row.key : null;
}

/** Someone is at the tablet: the idle time begins anew. */
export const touch = () => update("keys", "open", (row) => row && { ...row, touched: Date.now() });

const once = crypto.randomUUID?.();

/** The number of this tablet, made once; one of this page alone where nothing is kept. */
export async function device() {
  if (!(await keeps())) return once;
  return (await update("keys", "device", (row) => row ?? { id: "device", number: crypto.randomUUID() })).number;
}

const bytes = (hex) => Uint8Array.from(hex.match(/../g), (pair) => parseInt(pair, 16));

/** Asks the server for the key; with a PIN that is right a copy is kept that this PIN opens. */
async function handed(pin = "") {
  // A key that cannot be kept locks nothing and opens nothing.
  if (!(await keeps())) return null;
  let told;
  try {
    const body = new URLSearchParams({ device: await device(), pin });
    const answer = await fetch("/tablet/key", { method: "POST", body, redirect: "manual" });
    if (!answer.ok) return null;
    told = await answer.json();
  } catch {
    return null;
  }
  const raw = bytes(told.key);
  const copy = `pin:${told.account}`;
  if (pin) await put("keys", { id: copy, account: told.account, name: told.name, idle: told.idle_minutes, tries: 0, ...(await sealed(raw, pin)) });
  else if (told.has_pin) await update("keys", copy, (row) => row && { ...row, tries: 0 });
  else await drop("keys", copy);
  const made = await crypto.subtle.importKey("raw", raw, "AES-GCM", false, ["encrypt", "decrypt"]);
  return hold(told.account, told.name, made, told.idle_minutes, told.has_pin);
}

async function hold(who, name, made, idle, pin) {
  const row = { id: "open", account: who, name, key: made, idle, pin, touched: Date.now() };
  await put("keys", row);
  await drop("keys", "untold");
  announce("unlocked");
  return row;
}

/** What a PIN turns into; slow on purpose. */
async function stretched(pin, salt, rounds) {
  const typed = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveKey"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt, iterations: rounds };
  return crypto.subtle.deriveKey(how, typed, { name: "AES-GCM", length: 256 }, false, ["encrypt", "unwrapKey"]);
}

async function sealed(raw, pin) {
  const [salt, iv] = [crypto.getRandomValues(new Uint8Array(16)), crypto.getRandomValues(new Uint8Array(12))];
  const copy = await crypto.subtle.encrypt({ name: "AES-GCM", iv }, await stretched(pin, salt, ROUNDS), raw);
  return { salt, iv, copy, rounds: ROUNDS };
}

/** Opens the tablet by what the server took for good just now; six digits are also kept as the PIN if they are it. */
export async function openedByServer(secret = "") {
  await drop("keys", "untold");
  return (PIN.test(secret) && (await handed(secret))) || handed();
}

/** Whether this tablet opens without the practice for whoever is signed in. */
export const hasPin = async () => Boolean(account && (await get("keys", `pin:${account.id}`)));

/** Keeps a copy that the PIN opens, if the server says that this is the PIN. @returns {Promise<boolean>} */
export const keepPin = async (pin) => PIN.test(pin) && Boolean(await handed(pin));

/** Whose PIN this tablet knows, and how many tries are left. */
export async function pins() {
  const rows = (await all("keys")).filter((row) => row.id.startsWith("pin:"));
  return rows.map((row) => ({ account: row.account, name: row.name, left: TRIES - row.tries }));
}

/**
 * Opens without the server. Every try is counted before it is looked at.
 * @returns {Promise<{open: boolean, left: number|null}>} left: tries, or null when no copy is here
 */
export async function unlock(pin, who = account?.id) {
  let left = null;
  const row = await update("keys", `pin:${who}`, (had) => {
    if (!had) return undefined;
    left = TRIES - had.tries;
    return left > 0 ? { ...had, tries: had.tries + 1 } : undefined;
  });
  if (!row || left <= 0) return { open: false, left };
  try {
    const wrapping = await stretched(pin, row.salt, row.rounds);
    const made = await crypto.subtle.unwrapKey("raw", row.copy, wrapping, { name: "AES-GCM", iv: row.iv }, "AES-GCM", false, ["encrypt", "decrypt"]);
    await update("keys", row.id, (had) => ({ ...had, tries: 0 }));
    await hold(row.account, row.name, made, row.idle, true);
    return { open: true, left: TRIES };
  } catch {
    return { open: false, left: left - 1 };
  }
}

/** Takes the open key away; the server is told as soon as it answers. What is sealed stays. */
export async function lock() {
  await put("keys", { id: "untold" });
  await shut();
  announce("locked");
  await tell();
}

/** Takes the open key away. */
export const shut = () => drop("keys", "open");

/** Locks the server's session too, if the tablet locked itself out of its reach. @returns {Promise<boolean>} it knows */
export async function tell() {
  if (!(await get("keys", "untold"))) return true;
  try {
    const answer = await fetch("/lock", { method: "POST", redirect: "manual", signal: AbortSignal.timeout(4_000) });
    if (answer.type !== "opaqueredirect") return false;
    await drop("keys", "untold");
    return true;
  } catch {
    return false;
  }
}

/** Takes away all that is this account's: for a sign-out with an empty queue. What waits in a queue is not touched. */
export async function forget() {
  await shut();
  if (!account) return;
  await drop("keys", `pin:${account.id}`);
  for (const row of await all("kept")) if (row.account === account.id) await drop("kept", row.id);
}
