// The line box of the exam: said in a line, read at once, confirmed with Enter; and what becomes of a line that is
// not read, asks, is stopped, or finds no signal.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LANDSCAPE, PHONE, PORTRAIT, SIZES, comes, counted, launch, leave, look, reset } from "../support/browser.mjs";
import { beginExam, saved } from "../support/exam.mjs";
import { ask, entries } from "../support/record.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const BOX = "Say or type what you find, in one line";
const box = (page) => page.getByRole("textbox", { name: BOX });
const reading = (page) => page.getByRole("form", { name: "What was read" });
const visitOf = (page) => new URL(page.url()).pathname.split("/")[2];
/** What stands of a visit: entries that no later one corrected or took back. */
const standing = async (page) => {
  const superseded = await ask(server.data, `select lower(hex(supersedes)) as id from entry where visit_id = x'${visitOf(page).replaceAll("-", "")}' and supersedes is not null`);
  const gone = new Set(superseded.map(({ id }) => id));
  return (await entries(server.data, visitOf(page))).filter(({ id, kind }) => !gone.has(id) && kind !== "withdrawal");
};

async function vetIn(size, horse, options) {
  const vet = await comes(browser, server.url, size, server.people.vet[0], options);
  await beginExam(vet, horse);
  return vet;
}

/** Types a line and has it read. */
async function say(page, line) {
  await box(page).fill(line);
  await box(page).press("Enter");
  await reading(page).waitFor();
}

/** Types a line, has it read and records it with Enter alone. */
async function record(page, line) {
  await say(page, line);
  await saved(page, () => page.keyboard.press("Enter"));
}

test("five lines and five confirmations are five findings with grade and side", async () => {
  const lines = [
    ["LF fetlock effusion 2", { region: "FETL_D", limb: "LF", code: "EFF", grade: 2 }],
    ["right hind hock bog spavin grade one", { limb: "RH", code: "EFF", grade: 1 }],
    ["RF check ligament moderate thickening", { limb: "RF", code: "THCK", grade: 2 }],
    ["left fore digital pulse bounding", { limb: "LF", grade: 3 }],
    ["LH suspensory origin pain 1", { limb: "LH", code: "PAIN", grade: 1 }],
  ];
  for (const size of SIZES) {
    const vet = await vetIn(size, "Lorimer");
    const { page } = vet;
    const before = (await standing(page)).length;
    await reset(page);
    await box(page).tap();
    for (const [line] of lines) {
      assert.equal(await box(page).evaluate((field) => field === document.activeElement), true, "the focus is in the box for the next line");
      await page.keyboard.type(line);
      await page.keyboard.press("Enter");
      await reading(page).waitFor();
      await page.waitForFunction(() => document.activeElement.id === "line-all");
      if (line === lines[0][0]) await look(vet, "line-read");
      await saved(page, () => page.keyboard.press("Enter"));
    }
    const { taps, keys, characters } = await counted(page);
    console.log(`five findings by line, ${size.name}: ${taps} tap, ${keys - characters} keys besides ${characters} typed characters`);
    assert.ok(taps <= 1 && keys - characters <= 10, "Enter reads, Enter confirms, and nothing else");
    const said = (await standing(page)).slice(before);
    assert.equal(said.length, 5);
    said.forEach((entry, n) => {
      for (const [name, value] of Object.entries(lines[n][1])) assert.equal(entry[name], value, `${lines[n][0]}: ${name}`);
      assert.equal(entry.line, lines[n][0]);
      assert.equal(entry.side, entry.limb[0]);
    });
    await leave(vet);
  }
});

test("a chip is changed, another struck, a question answered, and words that are not read stay as a note", async () => {
  for (const size of SIZES) {
    const vet = await vetIn(size, "Brackenhold");
    const { page } = vet;
    const before = (await standing(page)).length;
    const line = "LF fetlock effusion 2, heat 1, RH hock swelling 2, owner says since sunday";
    await box(page).tap();
    await page.keyboard.type(line);
    await page.getByRole("button", { name: "Read", exact: true }).tap();
    await reading(page).waitFor();
    await look(vet, "line-ask", { dark: true });
    const chip = (name) => reading(page).getByRole("group", { name });
    await chip(/^effusion/).getByText("change").tap();
    await chip(/^effusion/).getByText("3 marked").tap();
    await chip(/heat/).getByText("strike").tap();
    // The open question is not recorded past: the browser leads to it.
    await page.getByRole("button", { name: /^Record/ }).tap();
    assert.equal((await standing(page)).length, before, "nothing is recorded while a question is open");
    await chip(/swelling/).getByText("point", { exact: true }).tap();
    await look(vet, "line-changed");
    await saved(page, () => page.getByRole("button", { name: /^Record/ }).tap());
    const said = (await standing(page)).slice(before);
    assert.deepEqual(said.map(({ kind, code, region, grade, text }) => [kind, code, region, grade, text]), [
      ["finding", "EFF", "FETL_D", 3, undefined],
      ["finding", "SWEL", "HOCK_PT", 2, undefined],
      ["note", undefined, undefined, undefined, "owner says since sunday"],
    ]);
    assert.ok(said.every((entry) => entry.line === line));
    await page.getByRole("link", { name: /left fore fetlock, dorsal: .*effusion 3/ }).waitFor({ state: "attached" });
    await leave(vet);
  }
});

test("vital signs, gait, flexion, the foot and a sweep stand in their sections as their forms store them", async () => {
  const vet = await vetIn(PORTRAIT, "Old Gantry");
  const { page } = vet;
  const before = (await standing(page)).length;
  await record(page, "temp 38.2 hr 40");
  await record(page, "RF 2/5 trot straight hard");
  await record(page, "RH upper flexion 2 60s");
  await record(page, "LF sole bruise toe");
  await record(page, "LH nad");
  const said = (await standing(page)).slice(before);
  const of = (kind) => said.filter((entry) => entry.kind === kind);
  assert.deepEqual(of("vital").map(({ code, number }) => [code, number]), [["temp_c", 38.2], ["pulse_bpm", 40]]);
  assert.deepEqual(of("gait").map(({ code, limb, grade, scale }) => [code, limb, grade, scale]), [["TRT_SH", "RF", 2, "aaep_0_5"]]);
  assert.deepEqual(of("flexion").map(({ limb, grade, scale, number }) => [limb, grade, scale, number]), [["RH", 2, "flexion_0_4", 60]]);
  const swept = of("place");
  assert.ok(swept.length > 20 && swept.every((entry) => entry.sweep === swept[0].sweep && entry.limb === "LH" && entry.present === false));
  assert.match(await page.locator("#vitals-count").innerText(), /2 of 6 taken/);
  assert.match(await page.locator("#gait-count").innerText(), /RF 2, trot/);
  assert.match(await page.locator("#flexion-count").innerText(), /1 grade/);
  await page.getByRole("button", { name: /^Undo: nothing found, left hind/ }).first().waitFor({ state: "attached" });
  await look(vet, "line-sections");
  await leave(vet);
});

test("a flexion that is stopped goes on with a reason only", async () => {
  const vet = await vetIn(PHONE, "Lorimer");
  const { page } = vet;
  await record(page, "RF 5/5 walk");
  const before = (await standing(page)).length;
  await say(page, "RH upper flexion 2 60s");
  await reading(page).getByText("Why it is done all the same, or strike it").waitFor();
  await page.getByRole("button", { name: /^Record/ }).tap();
  await reading(page).getByText(/^▲? ?Flexion is stopped: /).waitFor();
  assert.equal((await standing(page)).length, before);
  await look(vet, "line-stopped");
  await reading(page).getByLabel("Why it is done all the same, or strike it").fill("radiographs are clean, the owner insists");
  await saved(page, () => page.getByRole("button", { name: /^Record/ }).tap());
  const said = (await standing(page)).slice(before);
  assert.deepEqual(said.map(({ kind }) => kind).filter((kind, n, all) => all.indexOf(kind) === n), ["override", "flexion"]);
  assert.equal(said[0].reason, "radiographs are clean, the owner insists");
  assert.equal(await page.getByRole("region", { name: "On this tablet" }).count(), 0, "what was refused at first is settled");
  await leave(vet);
});

test("without a signal the line is kept, and read when there is one", async () => {
  const vet = await vetIn(PORTRAIT, "Brackenhold");
  const { page, context } = vet;
  const before = (await standing(page)).length;
  await context.setOffline(true);
  await box(page).fill("LH hock effusion 1, mild heat");
  await box(page).press("Enter");
  await page.locator("#line-read").filter({ hasText: "kept word for word" }).waitFor();
  assert.equal(await box(page).inputValue(), "");
  await context.setOffline(false);
  const kept = page.getByText("1 line was kept without a signal, not read yet");
  await kept.waitFor();
  assert.deepEqual((await standing(page)).slice(before).map(({ kind, text }) => [kind, text]), [["note", "LH hock effusion 1, mild heat"]]);
  await kept.tap();
  await look(vet, "line-kept");
  await page.getByRole("button", { name: /^Read “LH hock/ }).tap();
  await reading(page).waitFor();
  if (await reading(page).locator("[required]").count()) await reading(page).locator("label:has([required])").first().tap();
  await saved(page, () => page.getByRole("button", { name: /^Record/ }).tap());
  await kept.waitFor({ state: "detached" });
  const said = (await standing(page)).slice(before);
  assert.ok(said.length && said.every(({ kind, line }) => kind === "finding" && line === "LH hock effusion 1, mild heat"), JSON.stringify(said));
  // The console tells of the requests that found no signal.
  vet.faults = vet.faults.filter((fault) => !/ERR_INTERNET_DISCONNECTED/.test(fault));
  await leave(vet);
});

test("Enter twice is one entry, and a line that cannot be read says so and stays", async () => {
  const vet = await vetIn(LANDSCAPE, "Old Gantry");
  const { page } = vet;
  const before = (await entries(server.data, visitOf(page))).length;
  await say(page, "LF carpus effusion 1");
  await saved(page, async () => {
    await page.evaluate(() => {
      for (let n = 0; n < 2; n++) document.getElementById("line-record").requestSubmit();
    });
    await page.keyboard.press("Enter");
  });
  assert.equal((await entries(server.data, visitOf(page))).length, before + 1);

  const markup = `<img src=x onerror=alert(1)> "'> LF fetlock effusion 2`;
  await say(page, markup);
  assert.equal(await page.locator("#line-read img").count(), 0);
  await saved(page, () => page.keyboard.press("Enter"));
  assert.ok((await standing(page)).some(({ line }) => line === markup));

  const wrong = page.locator("#line-read .field-error");
  await box(page).evaluate((field) => (field.value = "LF \u0007 fetlock effusion 2"));
  await box(page).press("Enter");
  await wrong.filter({ hasText: "This holds a character that cannot be printed. Type it again." }).waitFor();
  assert.equal(await box(page).inputValue(), "LF \u0007 fetlock effusion 2");
  await box(page).evaluate((field) => (field.value = "x ".repeat(5000)));
  await box(page).press("Enter");
  await wrong.filter({ hasText: "This is too long: 1000 characters at most." }).waitFor();
  await look(vet, "line-wrong");
  await page.keyboard.press("Escape");
  await page.keyboard.press("Escape");
  assert.equal(await box(page).inputValue(), "");
  await leave(vet);
});

test("from anywhere on the page the keys alone lead to the box, through its chips and back", async () => {
  const vet = await vetIn(LANDSCAPE, "Lorimer");
  const { page } = vet;
  await page.getByRole("heading", { name: "Hind feet" }).focus().catch(() => {});
  await page.evaluate(() => scrollTo(0, document.body.scrollHeight / 2));
  await page.keyboard.press("Alt+KeyL");
  await page.keyboard.type("RF fetlock effusion 2, heat 1");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.activeElement.id === "line-all");
  assert.ok(await page.locator("#line-all").evaluate((button) => button.matches(":focus-visible")), "the focus shows");
  const heard = await page.locator("#line-box > [aria-live]").textContent();
  assert.match(heard, /^Read: .*effusion.*; .*heat/, "what was read is told");
  // Back to the second chip, and down to strike.
  await page.keyboard.press("Shift+Tab");
  await page.keyboard.press("Shift+Tab");
  await page.keyboard.press("ArrowDown");
  assert.equal(await reading(page).getByRole("group", { name: /heat/ }).getByRole("radio", { name: "strike" }).isChecked(), true);
  const before = (await standing(page)).length;
  await saved(page, () => page.keyboard.press("Enter"));
  const said = (await standing(page)).slice(before);
  assert.deepEqual(said.map(({ code, grade }) => [code, grade]), [["EFF", 2]]);
  assert.equal(await box(page).evaluate((field) => field === document.activeElement), true);
  await leave(vet);
});

test("the box is in reach in every section and covers no control that has the focus", async () => {
  for (const size of [PORTRAIT, PHONE]) {
    const vet = await vetIn(size, "Brackenhold");
    const { page } = vet;
    for (const fraction of [0, 0.3, 0.6, 1]) {
      await page.evaluate((at) => scrollTo(0, document.body.scrollHeight * at), fraction);
      const shape = await box(page).boundingBox();
      assert.ok(shape.y >= 0 && shape.y + shape.height <= size.height, `in sight at ${fraction}`);
    }
    await say(page, "LF fetlock effusion 2, heat 1, pain 2, RF fetlock effusion 1, heat 2, LH hock effusion 1, warm foot LH");
    const aside = await page.locator("#line-box").boundingBox();
    console.log(`line box with seven readings, ${size.name}: ${Math.round(aside.height)} of ${size.height} px`);
    assert.ok(aside.height <= size.height * 0.66);
    const button = await page.locator("#line-all").boundingBox();
    assert.ok(button.y + button.height <= size.height, "the button is in sight");
    await look(vet, "line-many");
    await leave(vet);
  }
});

test("a line is read and recorded without script", async () => {
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[1], { javaScriptEnabled: false });
  const { page } = vet;
  await page.goto(`${server.url}/walk-in?q=Brackenhold`);
  await page.getByRole("link", { name: /Brackenhold/ }).first().click();
  await page.getByRole("button", { name: "Begin the exam" }).click();
  const visit = visitOf(page);
  await page.goto(`${server.url}/visits/${visit}/exam`);
  await box(page).fill("RH fetlock effusion 2, RH hock swelling 1");
  await box(page).press("Enter");
  await reading(page).waitFor();
  await reading(page).locator("label:has([required])").first().click();
  await page.getByRole("button", { name: /^Record/ }).click();
  await page.waitForURL(/\/exam(\?.*)?#line-box$/);
  const said = (await entries(server.data, visit)).filter(({ line }) => line);
  assert.equal(said.length, 2);
  await leave(vet);
});
