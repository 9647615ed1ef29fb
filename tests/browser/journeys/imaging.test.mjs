// A picture at three sizes: it comes for its order, is looked at, measured by tapping, and compared with the next one.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { FOOT, SIZE, lateral, place } from "../support/dicom.mjs";
import { beginExam } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

const HORSES = ["Lorimer", "Brackenhold", "Old Gantry"];

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** Orders a foot and sends a lateral view of it; the address of the order. */
async function pictured({ page }, visit, instance) {
  await page.goto(`${server.url}/visits/${visit}/diagnostics/new?study=navicular&limb=LF`);
  await page.getByRole("button", { name: /^Order/ }).tap();
  await page.waitForURL(/diagnostics\/[0-9a-f-]+$/);
  const order = page.url();
  const accession = (await page.locator("main .num").first().innerText()).trim();
  await page.goto(`${server.url}/diagnostics/arrivals`);
  await page.locator("input[type=file]").setInputFiles({ name: "a.dcm", mimeType: "application/dicom", buffer: lateral({ accession, instance, side: "L" }) });
  await page.getByRole("button", { name: /^Send/ }).tap();
  await page.locator("#status", { hasText: "1 came in" }).waitFor();
  await page.goto(order);
  await page.locator("#pictures img").waitFor();
  return order;
}

/** Taps a place of the picture, given in its pixels. */
async function tap(page, [x, y]) {
  const box = await page.locator(".sheet img").boundingBox();
  const by = Math.min(box.width / SIZE.columns, box.height / SIZE.rows);
  const at = [box.x + (box.width - SIZE.columns * by) / 2 + x * by, box.y + (box.height - SIZE.rows * by) / 2 + y * by];
  await page.touchscreen.tap(...at);
}

const numberOf = async (page, label) => {
  const row = page.locator("#reckoned summary").filter({ hasText: label }).first();
  return parseFloat(await row.locator("b").innerText());
};

SIZES.forEach((size, n) => {
  test(`taken, seen, measured and compared, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSES[n]);
    const visit = new URL(page.url()).pathname.split("/")[2];
    const order = await pictured(vet, visit, `${n}1`);
    await look(vet, "imaging-order", { dark: true });
    await page.locator("#pictures a").first().tap();
    await page.getByRole("button", { name: "Closer" }).waitFor();
    await look(vet, "imaging-picture", { dark: true });

    await page.getByRole("link", { name: "Measure", exact: true }).tap();
    await page.locator("#next-mark b", { hasText: "G1" }).waitFor();
    await look(vet, "imaging-measure-empty", { dark: true });
    for (const name of Object.keys(FOOT)) {
      const radio = page.locator(`input[name=next][value=${name}]`);
      if (!(await radio.isChecked())) await radio.check();
      await tap(page, place(FOOT[name]));
      await page.waitForFunction((one) => document.getElementById(`point-${one}`).value, name);
    }
    await page.locator("#reckoned summary", { hasText: "dorsal wall angle" }).waitFor();
    await page.locator("#reckoned summary", { hasText: "sole depth under the tip" }).waitFor();
    // A tap hits within a pixel of the screen, which is up to two of the picture on a phone.
    for (const [label, expected, off] of [["palmar angle", 5, 2], ["dorsal wall angle", 52, 2], ["sole depth under the tip", 15, 1]]) {
      const found = await numberOf(page, label);
      assert.ok(Math.abs(found - expected) <= off, `${label}: ${found}, not ${expected}`);
    }
    await look(vet, "imaging-measured", { dark: true });
    await page.getByRole("button", { name: "Keep the measures" }).tap();
    await page.locator("#measured .what", { hasText: "palmar angle" }).waitFor();

    await pictured(vet, visit, `${n}2`);
    await page.locator("#pictures a").first().tap();
    await page.getByRole("link", { name: /beside this one/ }).tap();
    await page.locator("figure.picture").nth(1).waitFor(); // the same view at another time
    await look(vet, "imaging-beside");
    await page.getByRole("link", { name: "All measures" }).tap();
    await page.getByRole("heading", { name: "left fore foot, LM" }).waitFor();
    await look(vet, "imaging-measures", { dark: true });

    await page.goto(order);
    await page.getByRole("button", { name: "All taken" }).tap();
    await page.getByLabel("What it says").fill("Sole thin, angle low.");
    await page.getByRole("button", { name: "Save the report" }).tap();
    await page.getByLabel("Who was told, and how").fill("the owner, by phone");
    await page.getByRole("button", { name: "The client knows" }).tap();
    await page.getByText("client told", { exact: true }).waitFor();
    await leave(vet);
  });
});
