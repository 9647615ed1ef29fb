// A video of a gait: sent in pieces, kept as it was sent, and stepped beside an earlier one.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { truncate, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
import { demo, scratch } from "../support/server.mjs";

const HORSE = ["Lorimer", "Brackenhold", "Old Gantry"];

let browser, server, film;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
  film = await filmed();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** Two seconds of something that moves, as MP4: the browser films it itself. Null where it cannot. */
async function filmed() {
  const page = await browser.newPage();
  const bytes = await page.evaluate(async () => {
    const type = ["video/mp4;codecs=vp9", "video/mp4;codecs=avc1", "video/mp4"].find((one) => MediaRecorder.isTypeSupported(one));
    if (!type) return null;
    const canvas = Object.assign(document.createElement("canvas"), { width: 160, height: 120 });
    const brush = canvas.getContext("2d");
    const draw = setInterval(() => {
      brush.fillStyle = "#333";
      brush.fillRect(0, 0, 160, 120);
      brush.fillStyle = "#fd0";
      brush.fillRect((performance.now() / 10) % 160, 40, 30, 30);
    }, 20);
    const recorder = new MediaRecorder(canvas.captureStream(25), { mimeType: type });
    const parts = [];
    recorder.ondataavailable = ({ data }) => parts.push(data);
    const done = new Promise((on) => (recorder.onstop = on));
    recorder.start();
    await new Promise((on) => setTimeout(on, 2000));
    recorder.stop();
    await done;
    clearInterval(draw);
    return [...new Uint8Array(await new Blob(parts).arrayBuffer())];
  });
  await page.close();
  return bytes && Buffer.from(bytes);
}

SIZES.forEach((size, n) => {
  test(`a video is kept and stepped, on a ${size.name} screen`, async (t) => {
    if (!film) return t.skip("this browser makes no MP4");
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSE[n]);
    const visit = new URL(page.url()).pathname.split("/")[2];
    await page.goto(`${server.url}/visits/${visit}/videos`);
    await look(vet, "video-none", { dark: true });
    await page.getByLabel("How the horse goes").selectOption({ index: 2 });
    await page.getByLabel("What it shows").fill("short in front");
    await page.locator("#video").setInputFiles({ name: "gait.mp4", mimeType: "video/mp4", buffer: film });
    await page.getByRole("button", { name: "Keep the video" }).tap();
    await page.locator("#videos a").waitFor();
    await look(vet, "video-list");
    await page.locator("#videos a").tap();
    await page.getByRole("button", { name: "One frame on" }).waitFor();
    await page.waitForFunction(() => document.querySelector("video").readyState > 0);
    const before = await page.evaluate(() => document.querySelector("video").currentTime);
    await page.getByRole("button", { name: "One frame on" }).tap();
    await page.waitForFunction((was) => document.querySelector("video").currentTime > was, before);
    await look(vet, "video-page", { dark: true });
    const answer = await page.evaluate(async () => {
      const { status, headers } = await fetch(document.querySelector("video").src, { headers: { Range: "bytes=0-9" } });
      return [status, headers.get("content-range")];
    });
    assert.equal(answer[0], 206);
    assert.match(answer[1], new RegExp(`^bytes 0-9/${film.length}$`), "it is kept as it was sent");
    await leave(vet);
  });
});

test("a video waits on the tablet without a signal and through a closed tab, sealed, and is kept whole", async (t) => {
  if (!film) return t.skip("this browser makes no MP4");
  const vet = await comes(browser, server.url, SIZES[0], server.people.vet[0]);
  const { page, context } = vet;
  await beginExam(vet, "Tallow Wick");
  const visit = new URL(page.url()).pathname.split("/")[2];
  await page.goto(`${server.url}/visits/${visit}/videos`);
  await page.getByLabel("What it shows").fill("behind the barn");
  // Three pieces, the last of them a part of one.
  const large = Buffer.concat([film, Buffer.alloc(9_000_000 - film.length)]);
  large.writeUInt32BE(large.length - film.length, film.length);
  large.write("free", film.length + 4, "latin1");
  await context.setOffline(true);
  await page.locator("#video").setInputFiles({ name: "gait.mp4", mimeType: "video/mp4", buffer: large });
  await page.getByRole("button", { name: "Keep the video" }).click();
  await page.getByText("Choose how the horse goes, or name the place").waitFor();
  await page.getByLabel("How the horse goes").selectOption({ index: 2 });
  await page.getByRole("button", { name: "Keep the video" }).click();
  await page.getByText("Video saved on this tablet.").waitFor();
  await page.getByText("A video saved on this tablet, not yet in the practice").waitFor();
  await look(vet, "video-waits", { dark: true });
  // It stands sealed in the browser's own store: no piece of the file can be read there.
  const rows = await page.evaluate(() => new Promise((done) => (indexedDB.open("limbledger").onsuccess = ({ target }) => (target.result.transaction("films").objectStore("films").getAll().onsuccess = ({ target: all }) => done(all.result.map((row) => new TextDecoder("latin1").decode(row.sealed.slice(0, 4000))))))));
  assert.equal(rows.length, 3);
  assert.ok(rows.every((row) => !row.includes("ftyp")), "it is sealed");
  // The signal comes back weakly: one piece goes through, the tab is closed, and another page goes on.
  let through = 0;
  await page.route("**/videos/uploads/**", (route) => (route.request().method() === "PUT" && (through += 1) > 1 ? route.abort() : route.continue()));
  await context.setOffline(false);
  await page.waitForFunction(() => document.getElementById("upload-words").textContent.includes("1 of 3"));
  await page.close();
  vet.page = await context.newPage();
  await vet.page.goto(`${server.url}/`);
  await vet.page.getByText("A video saved on this tablet, not yet").waitFor({ state: "detached" });
  await vet.page.goto(`${server.url}/visits/${visit}/videos`);
  await vet.page.getByRole("link", { name: "behind the barn" }).click();
  const kept = await vet.page.evaluate(async () => {
    const bytes = await (await fetch(document.querySelector("video").src)).arrayBuffer();
    return [bytes.byteLength, [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))].map((byte) => byte.toString(16).padStart(2, "0")).join("")];
  });
  assert.deepEqual(kept, [large.length, createHash("sha256").update(large).digest("hex")]);
  const left = await vet.page.evaluate(() => new Promise((done) => (indexedDB.open("limbledger").onsuccess = ({ target }) => (target.result.transaction("films").objectStore("films").count().onsuccess = ({ target: count }) => done(count.result)))));
  assert.equal(left, 0, "nothing of it is left on the tablet");
  vet.faults.splice(0, vet.faults.length, ...vet.faults.filter((fault) => !/ERR_INTERNET_DISCONNECTED|ERR_FAILED/.test(fault)));
  await leave(vet);
});

test("a video that the practice would not take is told before anything of it waits, and what was typed stays", async () => {
  const vet = await comes(browser, server.url, SIZES[1], server.people.vet[0]);
  const { page } = vet;
  await beginExam(vet, HORSE[0]);
  await page.goto(page.url().replace(/\/exam.*/, "/videos"));
  await page.getByLabel("How the horse goes").selectOption({ index: 2 });
  await page.getByLabel("What it shows").fill("the whole morning");
  const { folder, remove } = await scratch();
  const large = join(folder, "gait.mp4");
  await writeFile(large, "");
  await truncate(large, 2 ** 30 + 1);
  await page.locator("#video").setInputFiles(large);
  await page.getByRole("button", { name: "Keep the video" }).tap();
  await page.getByText("This video is larger than 1 GB.").waitFor();
  assert.equal(await page.getByLabel("What it shows").inputValue(), "the whole morning");
  assert.equal(await page.getByText("on this tablet").count(), 0, "nothing of it waits");
  await remove();
  await leave(vet);
});
