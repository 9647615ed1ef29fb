// The tablet's own store: one database with rows that have an `id`. A write is answered when it is on the disk.
//   queue  forms that wait for the practice     kept  pages taken along     keys  this tablet's number, keys, PIN copies
//   films  pieces of videos that wait
// What stands in `queue`, `films` and `kept` is sealed (keep.js); a key that opens stays in `keys` only while unlocked (keys.js).

const STORES = ["queue", "films", "kept", "keys"];
let opening;

/** @returns {Promise<IDBDatabase>} */
function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open("limbledger", 2);
    request.onupgradeneeded = () => {
      for (const name of STORES) {
        if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name, { keyPath: "id" }).createIndex("order", "order");
      }
    };
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const again = () => (opening = undefined);
      request.result.onclose = again;
      request.result.onversionchange = () => { request.result.close(); again(); };
      resolve(request.result);
    };
  });
  opening.catch(() => (opening = undefined));
  return opening;
}

let keeping;

/** Whether this browser keeps anything at all; some do not in a private window. Found out once for a page. */
export const keeps = () => (keeping ??= open().then(() => true, () => false));

/**
 * Does `work` in one transaction; resolves with its request's result once the transaction is safe. Where nothing is
 * kept there is nothing to read, and a write is refused.
 */
export async function within(store, mode, work) {
  if (!(await keeps()) && mode === "readonly") return undefined;
  const transaction = (await open()).transaction(store, mode, { durability: "strict" });
  return new Promise((resolve, reject) => {
    const request = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onabort = () => reject(transaction.error ?? request?.error);
  });
}

/** One row, or undefined. @param {"queue"|"films"|"kept"|"keys"} store @param {string} id */
export const get = (store, id) => within(store, "readonly", (rows) => rows.get(id));

/** All rows of a store. */
export const all = async (store) => (await within(store, "readonly", (rows) => rows.getAll())) ?? [];

/** Puts a row in, over one with the same id. */
export const put = (store, row) => within(store, "readwrite", (rows) => rows.put(row));

/** Takes a row out. */
export const drop = async (store, id) => (await keeps()) && within(store, "readwrite", (rows) => rows.delete(id));

/**
 * Reads a row and writes what `change` makes of it, with nobody in between. Makes nothing: the row stays as it is.
 * @param {(row: object|undefined) => object|undefined} change @returns {Promise<object|undefined>} the row as it is now
 */
export async function update(store, id, change) {
  let now;
  await within(store, "readwrite", (rows) => {
    const request = rows.get(id);
    request.onsuccess = () => {
      now = change(request.result);
      if (now) rows.put(now);
      else now = request.result;
    };
    return request;
  });
  return now;
}
