// How many taps an exam costs on a tablet held upright: real pointer events, counted in the page. Keys of the screen
// keyboard are counted apart, as characters are on paper.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, comes, counted, launch, leave, look, reset } from "../support/browser.mjs";
import { onPaper, onTheTablet, typedUp } from "../support/effort.mjs";
import { beginExam, saved } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

const MOST_NORMAL = 12;
const MOST_ABNORMAL = 32;
const MOST_TO_ANY_PLACE = 2;

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** A fresh exam, with nothing counted yet. */
async function atTheHorse(horse) {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0]);
  await beginExam(vet, horse);
  await reset(vet.page);
  return vet;
}

const bar = (page, section) => page.getByRole("navigation", { name: "Sections" }).getByRole("link", { name: section });
const whole = (page, part) => saved(page, () => page.getByRole("button", { name: new RegExp(`^${part}.* nothing found`) }).tap());
const count = (page, section) => page.getByRole("region", { name: section }).locator("summary").first().innerText();

/**
 * One touch on what is in sight, as a thumb does it. The driver's own tap scrolls first, and touches again when it met
 * something else, which would be counted although no hand did it.
 */
async function touch(control) {
  await control.waitFor();
  const at = await control.evaluate(async (element) => {
    for (let frame = 0; frame < 2; frame++) await new Promise(requestAnimationFrame);
    const { left, top, width, height } = element.getBoundingClientRect();
    const [x, y] = [left + width / 2, top + height / 2];
    return element.contains(document.elementFromPoint(x, y)) ? { x, y } : null;
  });
  assert.ok(at, `${control} is in sight and nothing covers it`);
  await control.page().touchscreen.tap(at.x, at.y);
}

/** Touch what a finger first scrolls clear of the bars: scrolling is no tap, and chooses nothing. */
async function reach(control) {
  await control.waitFor();
  await control.evaluate((element) => element.scrollIntoView({ block: "center" }));
  await touch(control);
}

/** Temperature, pulse, respiration and condition: one tap, then the keyboard's own Enter. @returns {Promise<number>} decisions */
async function vitals(page, values) {
  await bar(page, "Vitals").tap();
  await page.getByRole("textbox", { name: "Temperature" }).tap();
  for (const [label, value] of values) {
    const field = page.getByRole("textbox", { name: label });
    assert.ok(await field.evaluate((input) => input === document.activeElement), `Enter leads to ${label}`);
    await page.keyboard.type(value);
    if (label !== "Body condition") await page.keyboard.press("Enter");
  }
  await saved(page, () => page.getByRole("button", { name: "Save vital signs" }).tap());
  return values.length + 1;
}

const NORMAL = [["Temperature", "37.8"], ["Pulse", "36"], ["Respiration", "12"], ["Body condition", "5"]];
const length = (values) => values.reduce((sum, [, value]) => sum + value.length, 0);

/** Says what it took here, and what a sheet of paper with the same boxes would. */
function report(what, { taps, keys, decisions }, paper) {
  const here = onTheTablet({ taps, keys, decisions });
  const pen = onPaper({ ...paper, decisions });
  const desk = typedUp({ lines: paper.ticks + paper.fields, characters: paper.characters });
  const s = (seconds) => `${Math.round(seconds)} s`;
  console.log(`${what}: ${taps} taps and ${keys} keys, about ${s(here)}; on paper about ${s(pen)}, and ${s(desk)} more to type it up`);
  return { here, pen };
}

test("a full normal exam takes at most 12 taps", async () => {
  const vet = await atTheHorse("Lorimer");
  const { page } = vet;
  let decisions = await vitals(page, NORMAL);
  await saved(page, () => page.getByRole("button", { name: "Stood square, nothing seen" }).tap());
  for (const part of ["Both forelimbs", "Both hindlimbs", "Neck, back and pelvis", "Both fore feet", "Both hind feet"]) {
    await whole(page, part);
    decisions += 1;
  }
  await bar(page, "Moving").tap();
  await saved(page, () => page.getByRole("button", { name: /8 grades of 0$/ }).tap());
  decisions += 2;
  const done = await counted(page);
  await look(vet, "exam-normal", { dark: true });
  for (const limbs of ["Forelimbs", "Hindlimbs"]) assert.match(await count(page, limbs), /all \d+ looked at/);
  assert.match(await count(page, "Neck, back and pelvis"), /looked at/);
  assert.match(await count(page, "Moving"), /level/);
  // The same on paper: five parts of the horse, stance and two gaits are ticks, the numbers are written.
  const { here, pen } = report("full normal exam", { ...done, decisions }, { ticks: 8, fields: NORMAL.length, characters: length(NORMAL) });
  assert.ok(done.taps <= MOST_NORMAL, `${done.taps} taps`);
  assert.ok(here < pen, `${here} s here, ${pen} s with a pen`);
  await leave(vet);
});

/** Five findings of an ordinary lame horse: section, place, question with its grade. */
const FINDINGS = [
  ["Both forelimbs", "right fore fetlock, dorsal", /^effusion: 2/],
  ["Both hindlimbs", "left hind hock, tarsocrural joint", /^effusion: 1/],
  ["Neck, back and pelvis", "left loins", /^pain on palpation: 2/],
  ["Both fore feet", "right fore foot, digital pulse", /^digital pulse, lateral: 2/],
  ["Both hind feet", "left hind foot, heel bulbs", /^pain on palpation: 1/],
];

test("an ordinary abnormal exam, five findings in five sections, takes at most 32 taps", async () => {
  const vet = await atTheHorse("Brackenhold");
  const { page } = vet;
  let decisions = await vitals(page, NORMAL);
  await saved(page, () => page.getByRole("button", { name: "Stood square, nothing seen" }).tap());
  let characters = length(NORMAL);
  for (const [part, place, answer] of FINDINGS) {
    await reach(page.getByRole("link", { name: new RegExp(`^Record a finding: ${place}`) }).first());
    await saved(page, () => page.getByRole("button", { name: answer }).first().tap());
    await whole(page, part);
    decisions += 4;
    characters += `${place} ${answer.source.replace(/[\^:]/g, "")}`.length;
  }
  await bar(page, "Moving").tap();
  const walk = page.getByRole("form", { name: "Walk, straight, hard" });
  await saved(page, () => walk.getByRole("button", { name: "Level in all four" }).tap());
  const trot = page.getByRole("form", { name: "Trot, straight, hard" });
  await saved(page, () => trot.getByRole("group", { name: "RF" }).getByRole("button", { name: /^RF 2/ }).tap());
  await saved(page, () => trot.getByRole("button", { name: "Level in the others" }).tap());
  decisions += 4;
  const done = await counted(page);
  await look(vet, "exam-abnormal", { dark: true });
  report("ordinary abnormal exam", { ...done, decisions }, { ticks: 8, fields: NORMAL.length + FINDINGS.length + 1, characters: characters + 1 });
  assert.ok(done.taps <= MOST_ABNORMAL, `${done.taps} taps`);
  for (const section of ["Forelimbs", "Hindlimbs", "Neck, back and pelvis", "Fore feet", "Hind feet"]) {
    assert.match(await count(page, section), /1 abnormal/);
  }
  await leave(vet);
});

test("from any place to any other takes at most two taps", async () => {
  const vet = await atTheHorse("Old Gantry");
  const { page } = vet;
  const places = [
    ["Fore", "left fore shoulder joint"],
    ["Hind feet", "right hind foot, coronary band"],
    ["Back", "right withers"],
    ["Hind", "left hind hock, point"],
    ["Fore feet", "left fore foot, sole"],
    ["Testers", "left hind foot, hoof testers"],
    ["Fore", "right fore fetlock, dorsal"],
  ];
  for (const [section, place] of places) {
    await reset(page);
    await touch(bar(page, new RegExp(`^${section}(\\W|$)`)).first());
    await reach(page.getByRole("link", { name: new RegExp(`^Record a finding: ${place}`) }).first());
    await page.getByRole("group", { name: new RegExp(`^${place}`) }).first().waitFor();
    const { taps } = await counted(page);
    assert.ok(taps <= MOST_TO_ANY_PLACE, `${taps} taps to ${place}`);
    assert.equal(await page.locator(".picker").count(), 1, "one place at a time");
  }
  await leave(vet);
});

test("an abnormal finding with its grade takes at most 4 taps", async () => {
  const vet = await atTheHorse("Tarrow Gate");
  const { page } = vet;
  await bar(page, /^Fore(\W|$)/).first().tap();
  await page.getByRole("link", { name: "Record a finding: right fore fetlock, dorsal" }).tap();
  await saved(page, () => page.getByRole("button", { name: /^effusion: 2/i }).tap());
  const { taps } = await counted(page);
  console.log(`one abnormal finding with its grade: ${taps} taps`);
  assert.ok(taps <= 4, `${taps} taps`);
  await look(vet, "exam-finding", { dark: true });
  await page.getByRole("link", { name: /right fore fetlock, dorsal: .*effusion/i }).first().waitFor();
  await leave(vet);
});
