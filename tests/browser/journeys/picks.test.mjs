// Everything that can be recorded, without an answer of the practice: the exam was open before the signal went.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open } from "../support/exam.mjs";
import { ask } from "../support/record.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** The exam of a horse, with what its pickers are made of. */
async function atTheHorse(horse, size = PORTRAIT) {
  const vet = await comes(browser, server.url, size, server.people.vet[0]);
  const pieces = vet.page.waitForResponse((answer) => answer.url().includes("/exam/picks"));
  await beginExam(vet, horse);
  await vet.page.keyboard.press("Shift");
  await (await pieces).finished();
  vet.visit = new URL(vet.page.url()).pathname.split("/")[2];
  return vet;
}

/** Without a connection the browser itself complains; nothing else may. */
function excuse(vet) {
  const rest = vet.faults.filter((fault) => !/ERR_INTERNET_DISCONNECTED|ERR_FAILED/.test(fault));
  vet.faults.splice(0, vet.faults.length, ...rest);
  return vet;
}

const plus = (page, place) => page.getByRole("link", { name: `Record a finding: ${place}`, exact: true });
const picker = (page, place) => page.getByRole("group", { name: place, exact: true });
const kept = (page, count) => page.locator("#saved").filter({ hasText: `${count} saved on this tablet` }).waitFor();

/** The words of the entries of a visit that were not corrected or taken back. */
async function stand(visit) {
  const own = `e.visit_id = x'${visit.replaceAll("-", "")}' and not exists (select 1 from entry s where s.supersedes = e.id)`;
  return (await ask(server.data, `select body from entry e where ${own} order by seq`)).map(({ body }) => JSON.parse(body));
}

test("a picker made on the tablet is the one that the practice makes", async () => {
  const vet = await atTheHorse("Lorimer");
  const { page } = vet;
  const [looked, different] = await page.evaluate(async () => {
    const plain = (picker) =>
      picker.outerHTML
        .replace(/(name="submission" value=")[^"]*/g, "$1")
        .replace(/at=[^"]*/g, "")
        .replace(/&amp;/g, "&")
        .replace(/>\s+</g, "><")
        .replace(/\s+/g, " ");
    for (const summary of document.querySelectorAll(".part > .fold > summary")) if (!summary.parentElement.open) summary.click();
    const links = [...document.querySelectorAll("a[data-pick].more")];
    const [regions, different] = [new Set(), []];
    for (const { dataset: { pick } } of links) {
      if (regions.has(pick.split(".")[0])) continue;
      regions.add(pick.split(".")[0]);
      document.querySelector(`a[data-pick="${pick}"]`).click();
      await new Promise((settled) => setTimeout(settled));
      const mine = plain(document.querySelector(".exam-row .picker"));
      const answer = await fetch(`${location.pathname}?open=${pick}`);
      const theirs = plain(parse(await answer.text()).querySelector(".picker"));
      if (mine !== theirs) {
        const at = [...mine].findIndex((letter, n) => letter !== theirs[n]);
        different.push(`${pick}: …${mine.slice(Math.max(at - 60, 0), at + 80)}… but …${theirs.slice(Math.max(at - 60, 0), at + 80)}…`);
      }
    }
    return [regions.size, different];
  });
  console.log(`${looked} regions looked at`);
  assert.ok(looked > 60, `${looked} regions`);
  assert.deepEqual(different.slice(0, 5), []);
  await leave(vet);
});

test("without a signal every kind of entry can be made, and is in the practice afterwards", async () => {
  const vet = await atTheHorse("Brackenhold");
  const { page, context } = vet;
  await context.setOffline(true);

  await open(page, "Forelimbs");
  const place = "right fore fetlock, dorsal";
  await plus(page, place).tap();
  await picker(page, place).getByRole("button", { name: "effusion: 2 moderate" }).tap();
  await kept(page, 1);
  await picker(page, place).getByRole("link", { name: "More detail" }).tap();
  await picker(page, place).getByLabel(/^Where/).selectOption({ label: "medial" });
  await picker(page, place).getByLabel(/^Note/).fill("cool, painless");
  await look(vet, "picks-detail");
  await picker(page, place).getByRole("button", { name: "Save the detail" }).tap();
  await kept(page, 2);

  await plus(page, "left fore carpus, dorsal").tap();
  await picker(page, "left fore carpus, dorsal").getByText("All other findings").tap();
  await picker(page, "left fore carpus, dorsal").locator(".others").getByRole("button", { name: "bony enlargement: 1 mild" }).tap();
  await kept(page, 3);

  await plus(page, "left fore shoulder joint").tap();
  await picker(page, "left fore shoulder joint").getByText("Could not be examined").tap();
  await picker(page, "left fore shoulder joint").locator("form[action$=barred] button").first().tap();
  await kept(page, 4);

  await open(page, "Fore feet");
  await plus(page, "left fore foot, sole").tap();
  await picker(page, "left fore foot, sole").locator(".ask button[value^='sole:']").first().tap();
  await kept(page, 5);

  await open(page, "Flexion");
  await page.getByRole("link", { name: "Show the tests" }).tap();
  await page.getByRole("button", { name: "Time the hold" }).first().tap();
  const clock = page.getByRole("group", { name: "Clocks" });
  await clock.getByText(/0:0[1-9]/).waitFor();
  await look(vet, "picks-flexion");
  await clock.getByRole("button", { name: /^Stop/ }).tap();
  const flexion = page.locator("#flexion-FX_DF");
  assert.ok(Number(await flexion.getByLabel(/^Other/).inputValue()) > 0, "the seconds held stand in their field");
  await flexion.getByRole("group", { name: "LF" }).getByRole("button", { name: /^LF 1/ }).tap();
  await kept(page, 6);

  await open(page, "Moving");
  await page.getByText("More conditions").tap();
  const more = page.locator("#gait .row-actions a").first();
  const condition = await more.innerText();
  await more.tap();
  await page.getByRole("form", { name: condition }).getByRole("group", { name: "RF" }).getByRole("button", { name: /^RF 1/ }).tap();
  await kept(page, 7);

  await open(page, "Neurological screen");
  await page.getByRole("link", { name: "Show the items" }).tap();
  await page.getByRole("button", { name: /: normal$/ }).first().tap();
  await kept(page, 8);

  await context.setOffline(false);
  await page.locator("#saved").filter({ hasText: /^\s*Saved in the practice \d/ }).waitFor({ timeout: 20_000 });
  const refused = page.getByRole("region", { name: "On this tablet" });
  assert.equal(await refused.count(), 0, await refused.first().innerText().catch(() => ""));
  const standing = await stand(vet.visit);
  assert.deepEqual(standing.map((one) => one.kind).sort(), ["finding", "finding", "finding", "flexion", "gait", "neuro", "place"]);
  const told = standing.find((one) => one.region === "FETL_D");
  assert.deepEqual([told.grade, told.aspect, told.text], [2, "medial", "cool, painless"]);
  await page.getByRole("link", { name: /^right fore fetlock, dorsal: abnormal, grade 2/ }).waitFor();
  await leave(excuse(vet));
});

for (const size of SIZES) {
  test(`a running clock and an open place stand well on a ${size.name} screen`, async () => {
    const vet = await atTheHorse("Old Gantry", size);
    const { page, context } = vet;
    await look(vet, "exam-fresh");
    const nodes = await page.evaluate(() => document.querySelectorAll("*").length);
    console.log(`${size.name}: ${nodes} elements on a fresh exam`);
    assert.ok(nodes <= 1500, `${nodes} elements`);
    await open(page, "Flexion");
    await page.getByRole("link", { name: "Show the tests" }).tap();
    await page.getByRole("button", { name: "Time the hold" }).first().tap();
    await page.reload();
    const clock = page.getByRole("group", { name: "Clocks" });
    await clock.getByText(/0:0[2-9]/).waitFor();
    await look(vet, "exam-clock");
    await clock.getByRole("button", { name: /^Stop/ }).tap();
    await clock.waitFor({ state: "detached" });
    await context.setOffline(true);
    await open(page, "Hindlimbs");
    await plus(page, "left hind hip").tap();
    await picker(page, "left hind hip").waitFor();
    await look(vet, "picks-open");
    await context.setOffline(false);
    await leave(excuse(vet));
  });
}
