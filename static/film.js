// A video that waits on this tablet: sealed piece by piece in the browser's own store, sent behind everything else, a
// piece at a time, and taken off the tablet when the practice holds the whole. What arrived stays in the practice, so a
// lost connection or a reload costs one piece at most.
//
// On `document` it tells each step as a `film` event: {id, done, count}.
import { all, drop, get, put, sealBytes, unsealBytes } from "./keep.js";
import { within } from "./store.js";
import { add, ask, fresh, refused, taken, ways } from "./queue.js";

/** Seconds for one piece on the weakest signal that is worth waiting for. */
const PATIENCE = 120;
const HEX = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
const digest = (bytes) => crypto.subtle.digest("SHA-256", bytes);
const name = (id, number) => `${id} ${number}`;
const tell = (id, done, count) => document.dispatchEvent(new CustomEvent("film", { detail: { id, done, count } }));

/**
 * Keeps a video on this tablet and sends it. Resolves when the whole of it is safe here; rejects when the tablet has no
 * room for it, and then keeps nothing of it.
 * @param {{file: File, size: number, visit: string, words: string, fields: [string, string][]}} video `size` of a piece in
 *   bytes @param {(whole: string) => string|undefined} known the number under which the practice holds a part of it
 */
export async function keep({ file, size, visit, words, fields }, known) {
  const [draft, count, pieces] = [fresh(), Math.ceil(file.size / size), []];
  try {
    for (let number = 0; number < count; number++) {
      const bytes = await file.slice(number * size, (number + 1) * size).arrayBuffer();
      pieces.push(await digest(bytes));
      await put("films", { id: name(draft, number), ...(await sealBytes(bytes, name(draft, number))) });
      tell(draft, number + 1, count);
    }
    const whole = HEX(await digest(await new Blob(pieces).arrayBuffer()));
    const said = [...fields, ["visit", visit], ["name", file.name.slice(-100)], ["bytes", String(file.size)], ["digest", whole]];
    return await add({ url: "/videos/uploads", visit, words, fields: said, pieces: pieces.map(HEX) }, { id: known(whole), film: draft });
  } catch (fault) {
    await clear(draft, count);
    throw fault;
  }
}

async function clear(draft, count) {
  for (let number = 0; number < count; number++) await drop("films", name(draft, number));
}

/** What the practice still misses of each video, since this page asked. */
const missing = new Map();

/** The next step of a video. @returns {Promise<string>} why it could not be done */
async function step(row, item) {
  const url = `/videos/uploads/${row.id}`;
  const open = missing.get(row.id);
  const stamp = ["sent_at", String(Date.now())];
  const body = open?.length ? await piece(item, open[0]) : new URLSearchParams([...item.fields, stamp]);
  if (!body) return body === null ? "locked" : refused(row, item, "A piece of it is not on this tablet any more. Choose the file again.");
  const way = open?.length ? `${url}/pieces/${open[0]}?digest=${item.pieces[open[0]]}` : open ? `${url}/finish` : item.url;
  const { why, answer, text } = await ask(way, open?.length ? "PUT" : "POST", body, PATIENCE);
  if (why) return why;
  if (answer.status === 204) return done(row, item);
  const said = answer.headers.get("content-type")?.startsWith("application/json") ? JSON.parse(text) : {};
  if (said.missing) return told(row, item, said.missing);
  // The practice cleared what was not finished for a week: it begins anew.
  if (answer.status === 404 && open) {
    missing.delete(row.id);
    return "";
  }
  return refused(row, item, said.errors ? Object.values(said.errors).join(" ") : parse(text).querySelector("h1")?.textContent.trim() || "It was not taken.");
}

/** The bytes of a piece; null while the tablet is locked, undefined when it is gone. */
async function piece(item, number) {
  const row = await get("films", name(item.film, number));
  return row ? unsealBytes(row, row.id).catch(() => undefined) : undefined;
}

function told(row, item, still) {
  missing.set(row.id, still);
  tell(row.id, item.pieces.length - still.length, item.pieces.length);
  return "";
}

/** The pieces go first: a page that goes away between leaves a row, and the practice answers it once more. */
async function done(row, item) {
  missing.delete(row.id);
  await clear(item.film, item.pieces.length);
  await taken(row, item);
  return "";
}

ways.film = step;

/** Milliseconds after which nobody reads pieces any more that no video waits for. */
const DAY = 86_400_000;

/** Pieces of what was discarded, or of a page that went away while it read the file. */
async function sweep() {
  const wanted = new Set((await all("queue")).map((row) => row.film));
  for (const id of (await within("films", "readonly", (rows) => rows.getAllKeys())) ?? []) {
    const [draft] = id.split(" ");
    const made = parseInt(draft.replace("-", "").slice(0, 12), 16);
    if (!wanted.has(draft) && Date.now() - made > DAY) await drop("films", id);
  }
}

sweep();
