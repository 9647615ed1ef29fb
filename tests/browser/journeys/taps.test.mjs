// How many taps an exam costs on a tablet held upright: real pointer events, counted in the page.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, comes, counted, launch, leave, look, reset } from "../support/browser.mjs";
import { beginExam, saved, sweep } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

// Seconds: a tap on a tablet, doi 10.1016/j.apergo.2016.06.004; a decision (M), Card, Moran and Newell 1980;
// a character on a screen keyboard, from memory.
const TAP = 0.57;
const CHARACTER = 0.4;
const DECISION = 1.35;

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test("a full normal exam takes at most 25 taps", async () => {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0]);
  const { page } = vet;
  await beginExam(vet, "Lorimer");
  await reset(page);

  let decisions = 0;
  for (const [label, value] of [["Temperature", "37.8"], ["Pulse", "36"], ["Respiration", "12"], ["Body condition", "5"]]) {
    const field = page.getByRole("textbox", { name: label });
    await field.tap();
    await field.pressSequentially(value);
    decisions += 1;
  }
  await saved(page, () => page.getByRole("button", { name: "Save vital signs" }).tap());
  await saved(page, () => page.getByRole("button", { name: "Stood square, nothing seen" }).tap());
  for (const part of ["LF", "RF", "LH", "RH", "Neck, back and pelvis", "LF foot", "RF foot", "LH foot", "RH foot"]) {
    await sweep(page, part);
    decisions += 1;
  }
  for (const condition of ["Walk, straight, hard", "Trot, straight, hard"]) {
    await saved(page, () => page.getByRole("form", { name: condition }).getByRole("button", { name: "Level in all four" }).tap());
    decisions += 1;
  }
  await look(vet, "exam-normal", { dark: true });
  const { taps, characters } = await counted(page);
  const seconds = TAP * taps + CHARACTER * characters + DECISION * decisions;
  console.log(`full normal exam: ${taps} taps, ${characters} typed characters, about ${Math.round(seconds)} s at the screen`);
  assert.ok(taps <= 25, `${taps} taps`);
  await leave(vet);
});

test("an abnormal finding with its grade takes at most 4 taps", async () => {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0]);
  const { page } = vet;
  await beginExam(vet, "Brackenhold");
  await reset(page);
  await page.getByRole("heading", { name: "Forelimbs" }).tap();
  await page.getByRole("link", { name: "Record a finding: right fore fetlock, dorsal" }).tap();
  await saved(page, () => page.getByRole("button", { name: /^effusion: 2/i }).tap());
  const { taps } = await counted(page);
  console.log(`one abnormal finding with its grade: ${taps} taps`);
  assert.ok(taps <= 4, `${taps} taps`);
  await look(vet, "exam-finding", { dark: true });
  await page.getByRole("link", { name: /right fore fetlock, dorsal: .*effusion/i }).first().waitFor();
  await leave(vet);
});
