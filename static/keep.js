// What this tablet keeps, in the browser's own store. Words are sealed; in the open stand only whose a row is, which
// visit it belongs to, its place in the line and its state.
import { key } from "./keys.js";
import { all as everything, keeps, within } from "./store.js";

export { drop, get, put } from "./store.js";

/** Put a row behind all others of the store, whichever tab they came from. */
export const append = (store, row) =>
  within(store, "readwrite", (rows) => {
    const last = rows.index("order").openCursor(null, "prev");
    last.onsuccess = () => rows.put({ ...row, order: (last.result?.value.order ?? 0) + 1 });
  });

/** The rows in their order: an account's own, or everybody's. @param {string} store @param {string} [account] */
export async function all(store, account) {
  const rows = await everything(store);
  return rows.filter((row) => !account || row.account === account).sort((a, b) => a.order - b.order);
}

/** Nothing can be sealed just now: the key comes back when the tablet is opened. */
export class Locked extends Error {}

/**
 * Seal an object for who is signed in. `about` is bound to it: a sealed part opens only in the row it was made for.
 * @param {object} object @param {string} [about] @returns {Promise<{iv: Uint8Array, sealed: ArrayBuffer}>}
 * @throws {Locked} while the tablet is locked
 */
export async function seal(object, about = "") {
  const mine = await key();
  if (!mine) throw (await keeps()) ? new Locked("this tablet is locked") : new Error("this browser keeps nothing");
  const iv = crypto.getRandomValues(new Uint8Array(12));
  const text = new TextEncoder();
  const how = { name: "AES-GCM", iv, additionalData: text.encode(about) };
  return { iv, sealed: await crypto.subtle.encrypt(how, mine, text.encode(JSON.stringify(object))) };
}

/** What a row holds; null while the tablet is locked. Throws when it is not ours or damaged. */
export async function unseal(row, about = "") {
  const mine = await key();
  if (!mine) return null;
  const how = { name: "AES-GCM", iv: row.iv, additionalData: new TextEncoder().encode(about) };
  return JSON.parse(new TextDecoder().decode(await crypto.subtle.decrypt(how, mine, row.sealed)));
}
