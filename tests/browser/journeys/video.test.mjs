// A video of a gait: sent in pieces, kept as it was sent, and stepped beside an earlier one.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

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
