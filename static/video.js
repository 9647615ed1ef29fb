// A video for the visit, in pieces: what arrived stays in the practice, so a lost connection or a reload costs one piece
// at most. The tablet keeps no copy of the file: after a reload it is chosen again, and only the rest is sent.
import { account } from "./keys.js";
import { fresh } from "./queue.js";

/** Seconds between tries without a connection. */
const WAITS = [1, 2, 4, 8, 15, 30];
/** Seconds for one piece on the weakest signal that is worth waiting for. */
const PATIENCE = 120;
const HEX = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/** The practice said no, in words. */
class Refused extends Error {}

const wait = (seconds) => new Promise((on) => setTimeout(on, seconds * 1000));
const digest = (bytes) => crypto.subtle.digest("SHA-256", bytes);

/** Shows how far it is. */
function show(words, share) {
  document.getElementById("upload").hidden = false;
  document.getElementById("upload-words").textContent = words;
  if (share !== undefined) document.getElementById("upload-progress").value = share;
}

/** The digests of all pieces and the one over them. @param {File} file @param {number} size of a piece */
async function known(file, size) {
  const count = Math.ceil(file.size / size);
  const pieces = [];
  for (let at = 0; at < count; at++) {
    pieces.push(await digest(await file.slice(at * size, (at + 1) * size).arrayBuffer()));
    show("The tablet reads the video.", 0);
  }
  return { pieces: pieces.map(HEX), whole: HEX(await digest(await new Blob(pieces).arrayBuffer())) };
}

/**
 * Asks until the practice itself has answered. @returns {Promise<{missing: number[]}|null>} null: it is kept
 * @throws {Refused}
 */
async function ask(url, method, body) {
  for (let tries = 0; ; tries++) {
    let answer;
    try {
      const headers = { Prefer: "return=minimal", "For-Account": account?.id ?? "" };
      answer = await fetch(url, { method, body, headers, redirect: "manual", signal: AbortSignal.timeout(PATIENCE * 1000) });
      if (answer.headers.has("Preference-Applied") && answer.status === 204) return null;
      const json = answer.headers.get("content-type")?.startsWith("application/json") && (await answer.json());
      if (json?.missing) return json;
      if (json?.errors) throw new Refused(Object.values(json.errors).join(" "));
      if (answer.headers.has("Preference-Applied") && [400, 403, 404, 409, 413].includes(answer.status)) throw new Refused(words(await answer.text()));
    } catch (fault) {
      if (fault instanceof Refused) throw fault;
    }
    const shut = { 401: "You are signed out. Sign in in another tab: sending goes on by itself.", 423: "The tablet is locked. Unlock it: sending goes on by itself." }[answer?.status];
    show(shut ?? "No connection. What arrived is kept in the practice; the rest is still only in the file on this tablet. It goes on by itself while this page is open.");
    await wait(WAITS[Math.min(tries, WAITS.length - 1)]);
  }
}

/** What the page of a refusal says. */
const words = (text) => parse(text).querySelector("h1")?.textContent.trim() || "It was not taken.";

/** Sends what is missing, and again what is still missing after that. */
async function sent(url, file, size, pieces, progress) {
  while (progress?.missing.length) {
    const number = progress.missing[0];
    const done = pieces.length - progress.missing.length;
    show(`${done} of ${pieces.length} pieces are safe in the practice. The rest is still only in the file on this tablet: leave this page open.`, done / pieces.length);
    const piece = file.slice(number * size, (number + 1) * size);
    progress = await ask(`${url}/pieces/${number}?digest=${pieces[number]}`, "PUT", piece);
  }
  if (!progress) return;
  show("All pieces arrived. The practice puts them together.", 1);
  // A piece may have been lost there: then it says which.
  await sent(url, file, size, pieces, await ask(`${url}/finish`, "POST"));
}

async function send(form, file) {
  const size = Number(form.dataset.piece);
  const { pieces, whole } = await known(file, size);
  const half = document.querySelector(`[data-half][data-digest="${whole}"]`);
  const id = half?.dataset.half ?? form.dataset.number ?? fresh();
  form.dataset.number = id;
  const said = { submission: id, visit: form.dataset.video, name: file.name.slice(-100), bytes: file.size, digest: whole };
  for (const name of ["condition", "site", "words"]) said[name] = form.elements[name].value;
  await sent(`/videos/uploads/${id}`, file, size, pieces, await ask("/videos/uploads", "POST", new URLSearchParams(said)));
}

/** Leaving the page in the middle is asked about. */
const stay = (event) => event.preventDefault();

addEventListener("submit", async (event) => {
  const form = event.target;
  const file = form.matches("[data-video]") && form.elements.video.files[0];
  if (!file || !crypto.subtle || form.hasAttribute("data-busy")) return;
  event.preventDefault();
  event.stopPropagation();
  form.toggleAttribute("data-busy", true);
  addEventListener("beforeunload", stay);
  try {
    await send(form, file);
    removeEventListener("beforeunload", stay);
    location.assign(form.action);
  } catch (fault) {
    say(`Not saved: ${fault instanceof Refused ? fault.message : "the tablet could not read the file. Choose it again."}`, true);
    delete form.dataset.number;
    form.toggleAttribute("data-busy", false);
    removeEventListener("beforeunload", stay);
    document.getElementById("upload").hidden = true;
  }
}, true);
