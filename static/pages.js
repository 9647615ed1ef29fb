// Pages kept on this tablet, each sealed with the key of the account that keeps it. In the open stand only whose a page
// is, its address and when it was kept. Used by pages and by the worker.
import { opened } from "./keys.js";
import { all, drop, get, put } from "./store.js";

/** What a kept page is served with again: the policy above all. */
const HEADERS = ["content-type", "content-security-policy", "x-content-type-options", "referrer-policy", "permissions-policy",
  "cross-origin-opener-policy", "cross-origin-resource-policy", "x-frame-options"];
const DAYS = 7 * 86_400_000;

const through = (data, stream) => new Response(new Blob([data]).stream().pipeThrough(stream)).arrayBuffer();
const how = (row) => ({ name: "AES-GCM", iv: row.iv, additionalData: new TextEncoder().encode(row.id) });

/** A page out of an answer of the server; null when it is none of this account's. @param {Response} answer */
export async function pageOf(answer, account) {
  if (!answer.ok || !answer.headers.get("content-type")?.startsWith("text/html")) return null;
  const html = await answer.text();
  if (!html.includes(`<meta name="account" content="${account}"`)) return null;
  return { html, headers: HEADERS.map((name) => [name, answer.headers.get(name)]).filter(([, value]) => value) };
}

/**
 * Keeps a page under its address. @param {{html: string, headers: [string, string][]}} page
 * @param {object} [open] what stands in the open beside it @returns {Promise<number>} bytes; 0 while locked
 */
export async function keep(url, page, open = {}) {
  const holder = await opened();
  if (!holder) return 0;
  const row = { id: `${holder.account} ${url}`, account: holder.account, at: Date.now(), ...open, iv: crypto.getRandomValues(new Uint8Array(12)) };
  const small = await through(JSON.stringify(page), new CompressionStream("gzip"));
  const sealed = await crypto.subtle.encrypt(how(row), holder.key, small);
  await put("kept", { ...row, sealed });
  return sealed.byteLength;
}

/** The row of a kept page, unread. */
export async function known(url) {
  const holder = await opened();
  return holder ? get("kept", `${holder.account} ${url}`) : undefined;
}

/** A kept page as it was, or null: not kept, locked, or damaged. */
export async function read(url) {
  const [holder, row] = [await opened(), await known(url)];
  if (!holder || !row?.sealed) return null;
  try {
    const small = await crypto.subtle.decrypt(how(row), holder.key, row.sealed);
    const text = new TextDecoder().decode(await through(small, new DecompressionStream("gzip")));
    return { ...JSON.parse(text), at: row.at };
  } catch {
    return null;
  }
}

/** The kept rows of an account with their addresses. */
export async function kept(account) {
  const rows = (await all("kept")).filter((row) => row.account === account && row.sealed);
  return rows.map((row) => ({ ...row, url: row.id.slice(account.length + 1) }));
}

/** Takes away what is not among `urls`; visits begun here stay until they are a week old. */
export async function tidy(account, urls) {
  for (const row of await kept(account)) {
    const old = Date.now() - row.at > DAYS;
    if (row.begun ? old : !urls.includes(row.url)) await drop("kept", row.id);
  }
}
