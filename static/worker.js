// Between the pages and the practice: asks the practice first, always. When it does not answer, a kept page is shown
// as it was, if the tablet is open for whose it is; else the lock, which takes the PIN. Sends nothing by itself.
import { opened, tell } from "./keys.js";
import { keep, known, pageOf, read } from "./pages.js";

/** Filled in by the server: the static files of this revision, and what can be recorded at each place. */
const FILES = [/* files */];
const SHELF = `static ${FILES[0].split("/")[2]}`;
/** Shelves of earlier revisions that kept pages may still ask for. */
const OLD_SHELVES = 2;
const [LOCKED, MISSING] = ["/tablet/locked", "/away/missing"];
/** Milliseconds before a kept page is shown instead of waiting on, and before waiting is given up. */
const [SOON, LATE] = [4_000, 15_000];

addEventListener("install", (event) => {
  const fill = caches.open(SHELF).then((shelf) => shelf.addAll([...FILES, LOCKED, MISSING]));
  event.waitUntil(fill.then(() => skipWaiting()));
});

addEventListener("activate", (event) => {
  const clear = async () => {
    const others = (await caches.keys()).filter((name) => name !== SHELF);
    await Promise.all(others.slice(0, -OLD_SHELVES).map((name) => caches.delete(name)));
    await clients.claim();
  };
  event.waitUntil(clear());
});

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  const stream = request.headers.get("accept")?.includes("text/event-stream");
  if (url.origin !== location.origin || request.method !== "GET" || stream) return;
  if (url.pathname.startsWith("/static/") || url.pathname === "/exam/picks") event.respondWith(file(request));
  else if (request.mode === "navigate") event.respondWith(page(event, url));
  else event.respondWith(fetch(request).catch(async (fault) => (await shown(url.pathname + url.search)) ?? Promise.reject(fault)));
});

/** Static files are named by what is in them, so one that is here is the right one. */
const file = async (request) => (await caches.match(request)) ?? fetch(request);

async function page(event, url) {
  if (!(await tell())) return caches.match(LOCKED);
  const address = url.pathname + url.search;
  const row = (await known(address)) ?? (await known(url.pathname));
  try {
    const answer = await within(row ? SOON : LATE, fetch(event.request));
    if (answer.status === 404 && row?.begun) return (await shown(url.pathname)) ?? answer;
    if (answer.status === 200 && (row || /^\/visits\/[^/]+\/exam$/.test(address))) event.waitUntil(again(address, answer.clone()));
    return answer;
  } catch {
    return unanswered(url, address);
  }
}

const within = (time, work) =>
  Promise.race([work, new Promise((_, no) => setTimeout(() => no(new Error("no answer")), time))]);

/** A kept page, and any exam that was opened, is kept as it was seen last. */
async function again(address, answer) {
  const holder = await opened();
  const seen = holder && (await pageOf(answer, holder.account));
  if (seen) await keep(address, seen);
}

async function unanswered(url, address) {
  if (!(await opened())) return caches.match(LOCKED);
  if (url.pathname === "/" && !(await known("/"))) return Response.redirect("/away");
  return (await shown(address)) ?? (await shown(url.pathname)) ?? caches.match(MISSING);
}

/** A kept page as an answer, with a line that says what it is. */
async function shown(address) {
  const seen = await read(address);
  if (!seen) return null;
  const at = new Date(seen.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const note = `<aside class="status no-print" id="kept-note" aria-label="About this page">The practice does not answer. This page is as this tablet kept it at ${at}.</aside>`;
  return new Response(seen.html.replace(/<main[ >]/, (main) => note + main), { headers: seen.headers });
}
