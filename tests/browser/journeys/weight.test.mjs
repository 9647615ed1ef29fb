// What a first visit of the four main pages weighs, counted as it goes over the wire.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, comes, launch, leave } from "../support/browser.mjs";
import { ask } from "../support/record.mjs";
import { demo } from "../support/server.mjs";

// Until a page stands and takes entries. Half of the exam is the scripts that keep what is recorded; they are fetched
// once.
const MOST_BYTES = 60 * 1024;
// What the exam fetches after that, unasked and once: what it needs to do everything without the practice.
const MOST_BYTES_AFTER = 32 * 1024;
// Scripts are modules, each kept for a year once fetched; the exam also asks for news and says what waits.
const MOST_REQUESTS = 20;

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** The exam of the practice's open ones that holds most, whatever the hour at which this runs. */
async function fullest() {
  const [{ visit }] = await ask(
    server.data,
    "select lower(hex(v.id)) as visit from visit v join entry e on e.visit_id = v.id where v.state in ('in_hand', 'to_sign') group by v.id order by count(*) desc limit 1",
  );
  return `/visits/${visit.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-")}/exam`;
}

test("day, exam, history and horse pages are light", async () => {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0]);
  const { page, context } = vet;
  const exam = await fullest();
  await page.goto(server.url + exam);
  const horse = await page.getByRole("heading", { level: 1 }).getByRole("link").getAttribute("href");

  const network = await context.newCDPSession(page);
  await network.send("Network.enable");
  await network.send("Network.setCacheDisabled", { cacheDisabled: true });
  await network.send("Page.enable");
  let bytes, requests, after, late;
  network.on("Page.loadEventFired", () => (late = new Set()));
  network.on("Network.requestWillBeSent", ({ requestId, type }) => {
    if (type === "Document") late = null;
    late?.add(requestId);
  });
  network.on("Network.loadingFinished", ({ requestId, encodedDataLength }) => {
    if (late?.has(requestId)) return (after += encodedDataLength);
    bytes += encodedDataLength;
    requests += 1;
  });
  for (const [name, path] of [["day", "/"], ["exam", exam], ["history", `${horse}/history`], ["horse", horse]]) {
    [bytes, requests, after, late] = [0, 0, 0, null];
    const answer = await page.goto(server.url + path, { waitUntil: "networkidle" });
    assert.ok(answer.ok(), `${path}: ${answer.status()}`);
    const nodes = await page.evaluate(() => document.querySelectorAll("*").length);
    console.log(`${name}: ${bytes} bytes in ${requests} requests, then ${after} bytes; ${nodes} elements`);
    assert.ok(bytes <= MOST_BYTES, `${name} weighs ${bytes} bytes`);
    assert.ok(after <= MOST_BYTES_AFTER, `${name} fetches ${after} bytes more`);
    assert.ok(requests <= MOST_REQUESTS, `${name} needs ${requests} requests`);
  }
  await leave(vet);
});
