// The desk: from a ringing phone to a booked visit, for somebody new and for a horse that is known.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, counted, launch, leave, look, reset } from "../support/browser.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

for (const size of SIZES) {
  test(`a call from somebody new, on a ${size.name} screen`, async () => {
    const desk = await comes(browser, server.url, size, server.people.desk[0]);
    const { page } = desk;
    await look(desk, "day", { dark: true });
    await reset(page);
    await page.getByRole("link", { name: "Take a call" }).click();
    await look(desk, "call", { dark: true });
    await page.getByRole("link", { name: "New client and horse" }).click();

    await somebodyNew(page, `Runa Oldfield ${size.name}`, "07700 900 123", `Thistle ${size.name}`, "Will not put the left fore down since this morning");
    const load = page.getByRole("group", { name: "Does it put weight on the leg?" });
    const advice = page.getByRole("heading", { name: "Tell the caller" });
    assert.equal(await advice.count(), 0, "no advice before there is a reason");
    await load.getByRole("radio", { name: "puts no weight on it" }).check();
    await page.getByText("Emergency: a vet now.").filter({ visible: true }).first().waitFor();
    await advice.waitFor();
    await look(desk, "call-new", { dark: true });
    await page.getByRole("checkbox", { name: "Urgent" }).check();

    await tomorrow(page);
    const slot = page.getByRole("group", { name: /^Free on/ }).getByRole("radio").first();
    const time = (await slot.getAttribute("value")).split("@");
    await slot.check();
    await page.getByRole("group", { name: "Where", exact: true }).getByRole("radio").first().check();
    await page.getByRole("button", { name: "Book the visit" }).click();
    await page.waitForURL(/\/visits\/|\/\?|\/$/);
    const interactions = (await counted(page)).taps + 4; // four fields are typed in
    console.log(`booking somebody new, ${size.name}: ${interactions} interactions`);
    assert.ok(interactions <= 25);
    await look(desk, "booked");
    assert.match(await page.content(), new RegExp(`Thistle ${size.name}`));
    await leave(desk);

    await overlap(size, time);
  });

  test(`a vet now in at most 4 interactions from the ring, on a ${size.name} screen`, async () => {
    const desk = await comes(browser, server.url, size, server.people.desk[0]);
    const { page } = desk;
    await reset(page);
    await page.getByRole("link", { name: "Take a call" }).tap();
    await page.getByRole("group", { name: /not put weight on the leg/ }).getByRole("radio", { name: "yes" }).tap();
    await page.locator("#verdict .class-now").waitFor();
    const { taps } = await counted(page);
    console.log(`from the ring to a vet now, ${size.name}: ${taps} interactions`);
    assert.ok(taps <= 4);
    await leave(desk);
  });

  test(`a known horse in at most 8 interactions, on a ${size.name} screen`, async () => {
    const desk = await comes(browser, server.url, size, server.people.desk[0]);
    const { page } = desk;
    await reset(page);
    await page.getByRole("link", { name: "Take a call" }).tap();
    const box = page.getByRole("combobox", { name: /Which horse/ });
    await box.pressSequentially(`thistle ${size.name.slice(0, 4)}`);
    await page.getByRole("option", { name: `Thistle ${size.name}` }).tap();
    const words = page.getByLabel("What is wrong, in the caller's words");
    await words.tap();
    await words.pressSequentially("Short on the right fore");
    await tomorrow(page);
    await page.getByRole("group", { name: /^Free on/ }).getByRole("radio").last().tap();
    const where = page.getByRole("group", { name: "Where", exact: true }).getByRole("radio");
    if ((await where.filter({ checked: true }).count()) === 0) await where.first().tap();
    await page.getByRole("button", { name: "Book the visit" }).tap();
    await page.waitForURL(/\/visits\/|\/\?|\/$/);
    const { taps, characters } = await counted(page);
    const interactions = taps + 1; // the search field had the focus: typing in it is one more
    console.log(`booking a known horse, ${size.name}: ${taps} taps, 2 fields typed (${characters} characters), ${interactions} interactions`);
    assert.ok(interactions <= 8);
    await leave(desk);
  });
}

test("what is typed while the free times are on their way stays", async () => {
  const { desk, page, answer } = await waitsForTimes();
  const renewed = page.waitForResponse("**/call");
  const times = await page.locator("#when").elementHandle();
  await page.getByRole("group", { name: "Vet" }).getByRole("radio").nth(1).check();
  await page.getByLabel("Another time").fill("11:05");
  answer();
  await renewed;
  await page.waitForFunction((old) => !old.isConnected, times);
  assert.equal(await page.getByLabel("Another time").inputValue(), "11:05");
  assert.equal(await page.getByRole("group", { name: "Vet" }).getByRole("radio").nth(1).isChecked(), true);
  await leave(desk);
});

test("a press while the free times are on their way is not lost, and one pressed twice is sent once", async () => {
  const { desk, page, answer } = await waitsForTimes();
  const sent = [];
  page.on("request", (request) => request.method() === "POST" && sent.push(new URLSearchParams(request.postData()).get("go")));
  const vet = page.getByRole("group", { name: "Vet" }).getByRole("radio");
  await vet.nth(1).check();
  await vet.nth(2).check();
  await page.getByRole("button", { name: "Book the visit" }).click();
  await page.getByRole("button", { name: "Book the visit" }).click();
  answer();
  await page.getByRole("heading", { name: "There is a problem" }).waitFor();
  assert.equal(await vet.nth(2).isChecked(), true);
  assert.deepEqual(sent, ["times", null]);
  await leave(desk);
});

test("of two desks that book the same time at once one has it, and the other is told and keeps its form", async () => {
  const desks = await Promise.all([0, 1].map(() => comes(browser, server.url, SIZES[0], server.people.desk[0])));
  for (const [n, { page }] of desks.entries()) {
    await page.goto(`${server.url}/call?new=yes`);
    await somebodyNew(page, `Caller ${n}`, `07700 900 50${n}`, `Twin ${n}`, "Short behind");
    await tomorrow(page);
    await page.getByRole("group", { name: /^Free on/ }).getByRole("radio").last().check();
    await page.getByRole("group", { name: "Where", exact: true }).getByRole("radio").first().check();
  }
  const chosen = await Promise.all(desks.map(({ page }) => page.getByRole("group", { name: /^Free on/ }).getByRole("radio", { checked: true }).getAttribute("value")));
  assert.equal(chosen[0], chosen[1], "both desks want the same vet at the same time");
  await Promise.all(desks.map(({ page }) => page.getByRole("button", { name: "Book the visit" }).click()));
  const told = ({ page }) => page.getByRole("heading", { name: "There is a problem" });
  const booked = ({ page }) => page.waitForURL((url) => url.pathname !== "/call").then(() => true);
  const won = await Promise.all(desks.map((desk) => Promise.race([booked(desk), told(desk).waitFor().then(() => false)])));
  assert.deepEqual([...won].sort(), [false, true]);
  const n = won.indexOf(false);
  assert.equal(await desks[n].page.getByLabel("Horse's name").inputValue(), `Twin ${n}`);
  assert.match(await desks[n].page.locator("#slot-error").innerText(), new RegExp(`Twin ${1 - n}`), "the reason names what stands there");
  await leave(...desks);
});

/** The desk at a new call whose next free times wait until `answer` is called. */
async function waitsForTimes() {
  const desk = await comes(browser, server.url, SIZES[0], server.people.desk[0]);
  const { page } = desk;
  await page.goto(`${server.url}/call?new=yes`);
  await tomorrow(page);
  return { desk, page, answer: await held(page) };
}

/** Holds what the call page asks for until the function that it gives is called. */
async function held(page) {
  let answer;
  const slow = new Promise((resolve) => (answer = resolve));
  await page.route("**/call", (route) => slow.then(() => route.continue()));
  return answer;
}

/** Fills in a client and a horse that nobody knows yet: four fields and a tap. */
async function somebodyNew(page, caller, phone, horse, words) {
  await page.getByLabel("Caller's name").fill(caller);
  await page.getByLabel("Phone").fill(phone);
  await page.getByLabel("Horse's name").fill(horse);
  await page.getByRole("group", { name: "Sex" }).getByRole("radio", { name: "mare" }).check();
  await page.getByLabel("What is wrong, in the caller's words").fill(words);
}

/** Tomorrow has free times whatever the hour is now. */
async function tomorrow(page) {
  await page.getByRole("button", { name: "tomorrow", exact: true }).tap();
  await page.getByRole("button", { name: "tomorrow", exact: true, pressed: true }).waitFor();
}

/** A second booking in the same vet's time is refused with the reason, and what was typed stays. */
async function overlap(size, [, time]) {
  const desk = await comes(browser, server.url, size, server.people.desk[0]);
  const { page } = desk;
  await page.goto(`${server.url}/call?new=yes`);
  await somebodyNew(page, "Halvar Moss", "07700 900 456", "Second Fiddle", "Stumbles");
  await tomorrow(page);
  await page.getByRole("group", { name: "Vet" }).getByRole("radio").nth(1).check();
  await page.getByLabel("Another time").fill(time);
  await page.getByRole("group", { name: "Where", exact: true }).getByRole("radio").first().check();
  await page.getByRole("button", { name: "Book the visit" }).click();
  await page.getByRole("heading", { name: "There is a problem" }).waitFor();
  await look(desk, "call-overlap");
  assert.equal(await page.getByLabel("Another time").getAttribute("aria-invalid"), "true");
  assert.match(await page.locator("#start-error").innerText(), /Thistle/, "the reason names what stands there");
  assert.equal(await page.getByLabel("What is wrong, in the caller's words").inputValue(), "Stumbles");
  await leave(desk);
}
