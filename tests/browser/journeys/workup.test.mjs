// The work-up: a ladder of blocks with clocks that survive a reload, a stop, lameness that moves to the other limb, and
// what is printed of it; at three sizes, and once without script.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open, saved } from "../support/exam.mjs";
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

SIZES.forEach((size, n) => {
  test(`a ladder of blocks up the left fore, and down the right one, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSES[n]);
    await open(page, "Moving");
    await saved(page, () => page.getByRole("button", { name: "LF 3, at trot" }).nth(1).tap());
    await page.getByRole("link", { name: "Work-up", exact: true }).tap();
    await page.getByRole("heading", { name: "left fore: what this says" }).waitFor();
    await look(vet, "workup", { dark: true });
    const nav = await page.getByRole("navigation", { name: "Visit" }).boundingBox();
    assert.ok(nav.height < 60, "the visit's pages stand in one line");

    await stopped(vet);
    await block(page, { volume: "1.5", consent: true, ago: 8 });
    await clock(page, /palmar digital block/, /read now, until/);
    await page.reload();
    await clock(page, /palmar digital block/, /read now, until/);
    await look(vet, "workup-clock", { dark: true });
    await page.goto(server.url);
    await page.getByText("read now, until").first().waitFor();
    await page.goBack();

    await read(vet, { grade: "3", skin: "numb" });
    await page.getByText("no better, from 3 to 3").waitFor();
    assert.equal(await page.locator(".next-up .clock").count(), 0, "a clock that was read rests");
    const next = page.getByRole("link", { name: /^Block \S+ on the left fore$/ });
    assert.ok((await next.count()) >= 3, "at least three alternatives");
    await next.first().tap();
    await block(page, { volume: "2", clean: "lame as before", ago: 1 });
    await clock(page, /left fore/, /too early, read from/);
    await look(vet, "workup-early");

    await page.goto(`${page.url()}/block?limb=LF&block=L4P`);
    await block(page, { volume: "3", clean: "lame as before", ago: 12 });
    await page.getByRole("link", { name: /^Read it ?: left fore low palmar/ }).first().tap();
    await read(vet, { grade: "0.5", switched: "right fore", at: true });
    await page.getByText("83 % better, from 3 to 0.5").waitFor();
    await page.getByRole("heading", { name: "right fore: what this says" }).waitFor();
    const says = await page.getByRole("region", { name: "left fore: what this says" }).innerText();
    assert.match(says, /Pain localised to: .*fetlock/);
    assert.doesNotMatch(says, /is excluded\b(?!\.)/);
    await page.getByText("fetlock joint").first().tap();
    await look(vet, "workup-ladder", { dark: true });

    await page.getByRole("link", { name: "Block PDN on the right fore" }).tap();
    await block(page, { volume: "1.5", ago: 7 });
    await look(vet, "workup-two-limbs");
    await home(page);
    await look(vet, "workup-leaving");
    await print(vet);
    await leave(vet);
  });
});

test("a block and its answer without script", async () => {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0], { javaScriptEnabled: false });
  const { page } = vet;
  await page.goto(`${server.url}/walk-in?q=Fennimore`);
  await page.getByRole("link", { name: /Fennimore/ }).first().click();
  await page.getByRole("button", { name: "Begin the exam" }).click();
  const visit = new URL(page.url()).pathname.split("/")[2];
  await page.goto(`${server.url}/visits/${visit}/work-up/block?limb=RH&block=TMTJ`);
  await block(page, { volume: "4", consent: true, ago: 12 });
  await clock(page, /right hind tarsometatarsal joint block/, /read now/);
  await page.getByRole("link", { name: /^Read it/ }).first().click();
  await page.getByLabel("Grade before").fill("2");
  await read(vet, { grade: "0", at: true });
  await page.getByText("100 % better, from 2 to 0").waitFor();
  await leave(vet);
});

/** Somebody says that a fracture is possible: no form before there is a reason. */
async function stopped(vet) {
  const { page } = vet;
  await page.getByRole("link", { name: "Block LF" }).tap();
  await page.getByRole("link", { name: "PDN palmar digital", exact: true }).first().tap();
  await page.getByText("Something else speaks against a needle").tap();
  await page.getByRole("checkbox", { name: "suspected or known fracture" }).check();
  await page.getByRole("button", { name: "This holds" }).tap();
  await page.getByText("No needle before this is settled.").waitFor();
  assert.equal(await page.getByLabel("Volume a site").count(), 0, "no form while it is stopped");
  await look(vet, "workup-stop", { dark: true });
  await page.getByRole("button", { name: "Go on all the same" }).tap();
  await page.getByRole("heading", { name: "There is a problem" }).waitFor();
  await page.getByLabel("Why it is done all the same").fill("Radiographs of today are clean");
  await page.getByRole("button", { name: "Go on all the same" }).tap();
  await page.getByLabel("Volume a site").waitFor();
  await look(vet, "workup-block");
}

/** Fills in the form of a block that was given so many minutes ago, and saves it. */
async function block(page, { volume, consent = false, clean, ago }) {
  if (consent) {
    await page.getByRole("radio", { name: "given", exact: true }).check();
    await page.getByLabel("By whom").fill("The owner, Anna Marsh");
    await page.getByRole("radio", { name: "by phone" }).check();
  }
  await page.getByLabel("Volume a site").fill(volume);
  const at = page.getByLabel("Injected at");
  const [hour, minute] = (await at.inputValue()).split(":").map(Number);
  const then = (hour * 60 + minute - ago + 1440) % 1440;
  await at.fill(`${Math.floor(then / 60)}:${String(then % 60).padStart(2, "0")}`);
  if (clean) await page.getByRole("radio", { name: clean }).check();
  await page.getByRole("button", { name: "Save the block and start its clock" }).click();
  await page.waitForURL(/\/work-up$/);
}

/** The clock of a block, on top of the page. */
async function clock(page, name, words) {
  const head = page.locator(".next-up", { has: page.getByRole("heading", { name }) });
  assert.match(await head.first().innerText(), words);
}

/** Tells what was seen after a block. */
async function read({ page }, { grade, skin, switched, at = false }) {
  if (!at) await page.getByRole("link", { name: /^Read it/ }).first().click();
  await page.locator(`input[name=after][value="${grade}"]`).check();
  if (skin) await page.getByRole("group", { name: "Skin test" }).getByRole("radio", { name: skin }).check();
  if (switched) await page.getByRole("group", { name: /^Lame on another limb/ }).getByRole("radio", { name: switched }).check();
  await page.getByRole("button", { name: "Save this answer" }).click();
  await page.waitForURL(/\/work-up$/);
}

/** What holds on the way home. */
async function home(page) {
  await page.getByText("What the vet decides for the way home").tap();
  await page.getByLabel("What to watch").fill("The needle marks above the fetlock");
  await page.getByRole("button", { name: "Save for the way home" }).tap();
  await page.getByText(/No riding until \d\d:\d\d\. No travel until/).waitFor();
}

/** The report on paper: blocks with their answers, the numb field, grades before and after, and no controls. */
async function print(vet) {
  const { page } = vet;
  await page.getByRole("link", { name: "Report", exact: true }).tap();
  await page.waitForURL(/\/report$/);
  await look(vet, "workup-report");
  await page.emulateMedia({ media: "print" });
  const paper = await page.getByRole("main").innerText();
  for (const words of [/low palmar, four points block, 3 ml at each of 4 sites/, /83 % better, from 3 to 0.5/, /lame on the right fore then/, /No riding until/, /Radiographs of today are clean/]) {
    assert.match(paper, words);
  }
  assert.ok(await page.locator(".plan .numb").first().isVisible(), "the numb field is on paper");
  assert.ok(await page.getByRole("img", { name: /L4P 1\d min: from 3 to 0.5/ }).isVisible(), "grades before and after");
  assert.equal(await page.locator("button:visible, nav:visible").count(), 0, "no controls on paper");
  await page.emulateMedia({ media: "screen" });
}
