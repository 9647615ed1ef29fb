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

const text = new TextEncoder();
const how = (iv, about) => ({ name: "AES-GCM", iv, additionalData: text.encode(about) });

/**
 * Seal bytes for who is signed in. `about` is bound to them: a sealed part opens only in the row it was made for.
 * @param {BufferSource} bytes @param {string} about @returns {Promise<{iv: Uint8Array, sealed: ArrayBuffer}>}
 * @throws {Locked} while the tablet is locked
 */
export async function sealBytes(bytes, about) {
  const mine = await key();
  if (!mine) throw (await keeps()) ? new Locked("this tablet is locked") : new Error("this browser keeps nothing");
  const iv = crypto.getRandomValues(new Uint8Array(12));
  return { iv, sealed: await crypto.subtle.encrypt(how(iv, about), mine, bytes) };
}

/** The bytes of a row; null while the tablet is locked. Throws when it is not ours or damaged. @returns {Promise<ArrayBuffer|null>} */
export async function unsealBytes(row, about) {
  const mine = await key();
  return mine && crypto.subtle.decrypt(how(row.iv, about), mine, row.sealed);
}

/** Seal an object. @param {object} object @param {string} [about] */
export const seal = (object, about = "") => sealBytes(text.encode(JSON.stringify(object)), about);

/** What a row holds; null while the tablet is locked. Throws when it is not ours or damaged. */
export async function unseal(row, about = "") {
  const bytes = await unsealBytes(row, about);
  return bytes && JSON.parse(new TextDecoder().decode(bytes));
}
