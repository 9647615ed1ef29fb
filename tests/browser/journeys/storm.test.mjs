// A storm over the queue: two tablets on one exam, 200 rounds of entries by real taps, and everything that can go wrong
// between a tap and the record. Afterwards the practice holds every entry once, and nothing besides.
//
// `SEED=1234` throws the same dice again; `ROUNDS=20` throws fewer.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, launch, signIn, visitor } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
import { book, compare, standing } from "../support/book.mjs";
import { dice, seed } from "../support/dice.mjs";
import { WATCH, hands, sections } from "../support/hands.mjs";
import { ask } from "../support/record.mjs";
import { demo, start } from "../support/server.mjs";
import { FAULTS, weather } from "../support/weather.mjs";

const ROUNDS = Number(process.env.ROUNDS ?? 200);
const EXAMS = Math.max(2, Math.round(ROUNDS / 33));
const MINUTE = 60_000;
/** How far a tablet's clock stands off, in milliseconds; `slow` and `fast` by minutes, by days, by years. */
const CLOCKS = [0, 3 * MINUTE, -17 * MINUTE, 26 * 60 * MINUTE, -400 * 24 * 60 * MINUTE, 9 * 365 * 24 * 60 * MINUTE];
/** What befalls a round besides its faults on the air. */
const TROUBLES = ["none", "none", "none", "none", "reload", "reload", "close", "second tab", "power", "power", "outage", "sign-in over", "dark", "dark"];
const AIR = FAULTS.filter((kind) => kind !== "power");
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

let browser, server;
const airs = [];
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await Promise.all(airs.map((air) => air.close()));
  await down;
  await server?.stop();
});

/** A power cut at the practice: SIGKILL, and the same again on the same port and data. One at a time. */
let down;
const lose = (ms) =>
  (down ??= (async () => {
    await server.kill();
    await pause(ms);
    const again = await start(["serve"], server.data, new URL(server.url).host);
    Object.assign(server, { halt: again.stop, kill: again.kill });
  })().finally(() => (down = undefined)));

/** A tablet with air of its own between it and the practice. Its clock stands off by `window.__skew`. */
async function tablet(name, person, chance) {
  const air = await weather(server.url, chance.fork());
  airs.push(air);
  air.cuts(() => lose(chance.below(300)));
  const someone = await visitor(browser, air.url, PORTRAIT);
  await someone.context.addInitScript(`
    // The browser's own page, shown while the practice is down, has no store.
    const [skew, Real] = [self.origin === "null" ? 0 : Number(localStorage.getItem("skew") ?? 0), Date];
    globalThis.Date = class extends Real {
      constructor(...given) { given.length ? super(...given) : super(Real.now() + skew); }
      static now() { return Real.now() + skew; }
    };`);
  await someone.context.addInitScript(WATCH);
  return { ...someone, name, person, air, skew: 0, refused: [], count: 0 };
}

/** Loads a page; a practice that is down for a moment is tried again, as people do. */
async function load(page, url) {
  for (let tries = 0; ; tries++) {
    try {
      return await page.goto(url);
    } catch (fault) {
      if (tries > 20) throw fault;
      await pause(300);
    }
  }
}

const examOf = (one) => `${one.air.url}/visits/${one.visit}/exam`;
const ready = (one) => one.page.waitForFunction(() => window.__kept !== undefined && document.querySelector("form[data-tap]"));

/** The page is left as it is and a new one opened. @param {"close" | "second tab" | "reload"} how */
async function another(one, how) {
  one.refused.push(...(await one.page.evaluate(() => window.__refused)));
  const old = one.page;
  if (how !== "reload") {
    if (how === "close") await old.close();
    one.page = await one.context.newPage();
    one.page.on("pageerror", (error) => one.faults.push(`script error: ${error.message}`));
  }
  await load(one.page, examOf(one));
  await ready(one);
  if (how === "second tab") await old.close();
  one.hands.reloaded();
}

/** On another page, which stays until the tablet is open: the next round may be one without a signal. */
async function signInAgain(one) {
  const tab = await one.context.newPage();
  await load(tab, `${one.air.url}/sign-in`);
  await signIn({ page: tab, url: one.air.url }, one.person);
  await tab.waitForFunction(async () => {
    const { key } = await import(document.querySelector("script[type=module]").src.replace(/page.*/, "keys.js"));
    return Boolean(await key());
  });
  await tab.close();
}

/** Sets the clocks, signs both in and opens an exam of this horse on both. */
async function openExam(pair, horse, chance) {
  for (const one of pair) {
    one.skew = chance.pick(CLOCKS);
    one.air.turn();
    await load(one.page, `${one.air.url}/sign-in`);
    await one.page.evaluate((skew) => localStorage.setItem("skew", skew), one.skew);
    await one.context.clearCookies();
    await signIn({ page: one.page, url: one.air.url }, one.person);
  }
  const [vet, helper] = pair;
  await beginExam({ page: vet.page, url: vet.air.url }, horse);
  vet.visit = helper.visit = new URL(vet.page.url()).pathname.split("/")[2];
  await load(helper.page, examOf(helper));
  const parts = await sections(vet.page);
  const own = [{ condition: "WLK_S", vital: "pulse_bpm" }, { condition: "TRT_SH", vital: "resp_bpm" }];
  for (const [n, one] of pair.entries()) {
    await ready(one);
    one.who = (await one.page.locator("meta[name=account]").getAttribute("content")).replaceAll("-", "");
    one.hands = hands(one, parts.filter((part) => part.sweeps.length === 2)[n], { ...own[n], spare: 1 }, chance.fork());
  }
  return book(vet.visit);
}

/** Some acts of one pair of hands, written into the book. */
async function work(one, pages, many, about, name) {
  for (let n = 0; n < many; n++) {
    const done = await one.hands.act(about, name);
    pages.acts.push({ ...done, ...about, tablet: one.name, skew: one.skew, number: (one.count += 1) });
  }
  const says = about.dark ? /^\s*\d+ saved on this tablet, not yet in the practice/ : /^\s*(\d+ saved on this tablet, not yet in the practice|Saved in the practice)/;
  if (many) await one.page.locator("#saved").filter({ hasText: says }).waitFor();
}

/** One round: bad air on both tablets, one trouble more on one of them, and hands that go on all the while. */
async function round(number, pair, pages, chance) {
  const trouble = chance.pick(TROUBLES);
  const kinds = trouble === "power" ? ["power", chance.pick(AIR)] : [chance.pick(AIR), chance.pick(AIR)];
  const dark = trouble === "dark";
  const [hit, other] = chance.chance(0.5) ? pair : [...pair].reverse();
  const about = { round: number, faults: [trouble, ...kinds].join(" "), late: false };
  for (const one of pair) one.air.turn(kinds, { share: 0.4 + 0.2 * chance.below(4), dark: dark && one === hit });
  if (trouble === "outage") void lose(400 + chance.below(600));
  if (trouble === "sign-in over") await hit.context.clearCookies();
  const plan = [[hit, 1 + chance.below(2)], [other, chance.below(3)]];
  await Promise.all(plan.map(([one, many]) => work(one, pages, many, { ...about, dark: dark && one === hit, asks: one !== hit || !["dark", "sign-in over"].includes(trouble) })));
  if (["reload", "close", "second tab"].includes(trouble)) await another(hit, trouble);
  for (const one of pair) one.air.turn();
  if (trouble === "sign-in over") {
    await hit.page.locator("#saved").filter({ hasText: "sign in again to send" }).waitFor();
    await signInAgain(hit);
  }
  await down;
}

/** Waits until the practice holds the whole book, and a little longer, so that what comes twice has come. */
async function settled(pages, pair) {
  for (let tries = 0; tries < 160; tries++) {
    if (!(await compare(pages, server.data)).missing.length) break;
    await pause(250);
  }
  await Promise.all(pair.map((one) => one.air.calm()));
}

/** The visit is signed while the helper's tablet is out of reach and still being used; the rest comes late. */
async function sign(pair, pages, number, chance) {
  const [vet, helper] = pair;
  if (helper.hands.can("finding", { asks: true })) await work(helper, pages, 1, { round: number, faults: "fine", late: false, asks: true }, "finding");
  await settled(pages, pair);
  helper.air.turn([], { dark: true });
  helper.hands.spend();
  const about = { round: number, faults: "signed meanwhile", dark: true, late: true };
  await work(helper, pages, 2, about);
  await load(vet.page, `${vet.air.url}/visits/${vet.visit}/sign`);
  const why = vet.page.getByLabel("Why you sign without them");
  if (await why.count()) await why.fill("The horse has left");
  await vet.page.getByLabel("Your password").fill(vet.person.password);
  await vet.page.getByRole("button", { name: /^Sign .*visit$/ }).click();
  await vet.page.waitForURL(/addenda/);
  for (const name of ["again", "again", "nothing", "sweep", "undo"]) {
    if (helper.hands.can(name, about)) await work(helper, pages, 1, about, name);
  }
  await work(helper, pages, 2, about);
  helper.air.turn([chance.pick(AIR)]);
  await pause(300);
  helper.air.turn();
}

/** How many forms a tablet still keeps. */
const kept = (one) =>
  one.page.evaluate(
    () => new Promise((done) => (indexedDB.open("limbledger").onsuccess = ({ target }) => (target.result.transaction("queue").objectStore("queue").count().onsuccess = ({ target: count }) => done(count.result)))),
  );

test(`${ROUNDS} rounds of storm leave every entry in the practice once (SEED=${seed})`, { timeout: 15 * MINUTE }, async () => {
  console.log(`SEED=${seed} repeats this run`);
  const chance = dice(seed);
  const pair = [await tablet("the veterinarian's tablet", server.people.vet[0], chance), await tablet("the helper's tablet", server.people.technician[0], chance)];
  const horses = await ask(server.data, "select name from horse where id not in (select horse_id from visit where state not in ('signed', 'cancelled', 'did_not_come')) group by name having count(*) = 1 order by name");
  const [{ count: before }] = await ask(server.data, "select count(*) as count from entry");
  const books = [];
  const began = Date.now();
  let number = 0;
  for (let exam = 0; exam < EXAMS; exam++) {
    const pages = await openExam(pair, horses[exam].name, chance);
    books.push(pages);
    while (number < ((exam + 1) * ROUNDS) / EXAMS) await round((number += 1), pair, pages, chance);
    await sign(pair, pages, number, chance);
    await settled(pages, pair);
    const { held, ...faults } = await compare(pages, server.data);
    const stands = await standing(pages, server.data);
    for (const one of pair) one.refused.push(...(await one.page.evaluate(() => window.__refused ?? [])));
    const all = { ...faults, stands, refused: pair.flatMap((one) => one.refused), left: await Promise.all(pair.map(kept)) };
    assert.deepEqual(all, { missing: [], extra: [], wrong: [], stands: [], refused: [], left: [0, 0] }, `SEED=${seed}, exam ${exam + 1} up to round ${number}`);
    console.log(`round ${number}: ${held} entries of ${pages.acts.length} acts, ${Math.round((Date.now() - began) / 1000)} s`);
  }
  const [{ count }] = await ask(server.data, "select count(*) as count from entry");
  const made = books.flatMap((pages) => pages.acts).flatMap((act) => act.entries).length;
  assert.equal(count - before, made + EXAMS, "no entry stands anywhere else");
  const [{ integrity_check: sound }] = await ask(server.data, "pragma integrity_check");
  assert.equal(sound, "ok");
  for (const one of pair) {
    console.log(`${one.name}: ${one.air.seen.sends} sends, ${JSON.stringify(one.air.seen.faults)}`);
    assert.deepEqual(one.air.seen.wrong, [], "the practice never failed on a send");
    assert.deepEqual(one.faults.filter((fault) => /script error|a dialog/.test(fault)), []);
    await one.context.close();
  }
});
