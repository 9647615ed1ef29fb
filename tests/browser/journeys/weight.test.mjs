// What a first visit of the four main pages weighs, counted as it goes over the wire.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, comes, launch, leave } from "../support/browser.mjs";
import { ask } from "../support/record.mjs";
import { demo } from "../support/server.mjs";

// All that a page loads. A third of the exam is the script that keeps what is recorded; it is fetched once.
const MOST_BYTES = 60 * 1024;
// What the exam fetches with the first touch or some seconds later, once: what it needs to open everything without the
// practice.
const MOST_BYTES_TOUCHED = 24 * 1024;
// The page, its styles, its script and its icon; the exam also asks for news and says what waits.
const MOST_REQUESTS = 10;

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
  let bytes, requests;
  network.on("Network.loadingFinished", ({ encodedDataLength }) => {
    bytes += encodedDataLength;
    requests += 1;
  });
  for (const [name, path] of [["day", "/"], ["exam", exam], ["history", `${horse}/history`], ["horse", horse]]) {
    [bytes, requests] = [0, 0];
    const answer = await page.goto(server.url + path, { waitUntil: "networkidle" });
    assert.ok(answer.ok(), `${path}: ${answer.status()}`);
    const nodes = await page.evaluate(() => document.querySelectorAll("*").length);
    const loaded = bytes;
    console.log(`${name}: ${loaded} bytes in ${requests} requests, ${nodes} elements`);
    assert.ok(loaded <= MOST_BYTES, `${name} weighs ${loaded} bytes`);
    assert.ok(requests <= MOST_REQUESTS, `${name} needs ${requests} requests`);
    await page.keyboard.press("Shift");
    await page.waitForLoadState("networkidle");
    await page.waitForTimeout(1000);
    console.log(`${name}: ${bytes - loaded} bytes more with the first touch`);
    assert.ok(bytes - loaded <= MOST_BYTES_TOUCHED, `${name} fetches ${bytes - loaded} bytes more`);
  }
  await leave(vet);
});
