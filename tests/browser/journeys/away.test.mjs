// A whole day out of the practice's reach: taken along over https by name, with the practice's authority installed.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { PORTRAIT, flaws, launch, picture, signIn, visitor } from "../support/browser.mjs";
import { beginExam, sweep as gesture } from "../support/exam.mjs";
import { cable, possible, tablet } from "../support/network.mjs";
import { scratch, start } from "../support/server.mjs";

const PIN = "284917";
const skip = possible() ? false : "making a network namespace takes root";
let folder, remove, line, data, server, port, device, browser, vet, person;

before(async () => {
  if (skip) return;
  ({ folder, remove } = await scratch());
  line = cable();
  data = join(folder, "demo");
  server = await start(["demo", "--years", "1"], data, `${line.server}:0`);
  port = new URL(server.url).port;
  device = await tablet(folder, line.space);
  const certificate = join(folder, "practice.crt");
  const trust = line.inside("curl", "-sf", `http://${line.server}:${port}/`).toString();
  const [href] = trust.match(/[^"]+\.crt/);
  await writeFile(certificate, line.inside("curl", "-sf", `http://${line.server}:${port}${href}`));
  device.trust(certificate);
  const lines = (await readFile(join(data, "demo-sign-ins.tsv"), "utf8")).trim().split("\n");
  const [, name, password] = lines.map((one) => one.split("\t")).find(([role]) => role === "vet");
  person = { name, password };
  browser = await launch({ program: device.program, extra: [`--host-resolver-rules=MAP limbledger-demo.local ${line.server}`] });
  vet = await visitor(browser, `https://limbledger-demo.local:${port}`, PORTRAIT);
});

after(async () => {
  await browser?.close();
  await server?.stop();
  line?.remove();
  await remove?.();
});

/** Asks the practice's own file. */
const ask = (sql) => execFileSync("sqlite3", [join(data, "practice.sqlite"), sql], { encoding: "utf8" }).trim();

/** How many rows a store of the tablet holds. */
const rows = (store) =>
  vet.page.evaluate(
    (name) =>
      new Promise((resolve, reject) => {
        const asked = indexedDB.open("limbledger");
        asked.onerror = () => reject(asked.error);
        asked.onsuccess = () => {
          const count = asked.result.transaction(name).objectStore(name).count();
          count.onsuccess = () => { asked.result.close(); resolve(count.result); };
        };
      }),
    store,
  );

/** Does something that makes one more entry wait on the tablet. */
async function recorded(act) {
  const before = await rows("queue");
  await act();
  // The tap may lead to another page, and the tablet's store is asked from the page that is open.
  const now = () => rows("queue").catch(() => before);
  for (let tries = 0; (await now()) !== before + 1; tries++) {
    assert.ok(tries < 50, "nothing more waits on the tablet");
    await vet.page.waitForTimeout(100);
  }
}

/** Nothing found in a whole part of the horse. */
const sweep = (part) => gesture(vet.page, part, (_, act) => recorded(act));

/** All that the tablet keeps, as text. */
const all = () =>
  vet.page.evaluate(async () => {
    const open = await new Promise((resolve) => (indexedDB.open("limbledger").onsuccess = (event) => resolve(event.target.result)));
    const text = [];
    for (const name of ["queue", "kept"]) {
      const rows = await new Promise((resolve) => (open.transaction(name).objectStore(name).getAll().onsuccess = (event) => resolve(event.target.result)));
      for (const row of rows) for (const value of Object.values(row)) text.push(value instanceof ArrayBuffer ? new TextDecoder("latin1").decode(value) : String(value));
    }
    open.close();
    const shelves = [];
    for (const name of await caches.keys()) for (const request of await (await caches.open(name)).keys()) shelves.push(new URL(request.url).pathname);
    return { text: text.join("\n"), shelves };
  });

/** Locks the tablet; the page is covered at once, and then gone to the lock's own. */
async function lock() {
  await vet.page.getByRole("button", { name: "Lock", exact: true }).tap();
  await vet.page.waitForURL(/\/locked$/);
  await vet.page.getByRole("heading", { name: `Locked for ${person.name}` }).waitFor();
}

const visits = [];

test("the day is taken along with one tap", { skip }, async () => {
  const { page, url } = vet;
  await signIn(vet, person);
  await page.goto(`${url}/me`);
  await page.locator("#pin_current").fill(person.password);
  await page.locator("#pin").fill(PIN);
  await page.locator("#pin_again").fill(PIN);
  await page.getByRole("button", { name: "Set the PIN" }).tap();
  await page.getByText("Your PIN is set.").waitFor();
  // Two of today's that are open, whatever the hour at which this runs.
  for (const horse of ["Tarrow Gate", "Harrowmere"]) {
    await beginExam(vet, horse);
    visits.push(new URL(page.url()).pathname);
  }
  await page.goto(url);
  await page.getByRole("link", { name: "Take my day along" }).tap();
  const said = page.locator("#taken-line");
  await said.waitFor({ timeout: 60_000 });
  console.log("   ", await said.innerText());
  assert.match(await said.innerText(), /^Kept on this tablet at \d\d:\d\d: \d+ visits?, \d+ pages, /);
  assert.equal(await page.getByText("No PIN on this tablet").count(), 0);
  assert.equal(await page.getByText("Not complete").count(), 0);
  assert.deepEqual(await flaws(vet), []);
  await picture(vet, "away-taken");
  for (const href of visits) await page.locator(`#my-visits a[href='${href}']`).waitFor();
});

test("without the practice the kept visits open and take entries", { skip }, async () => {
  const { page, url } = vet;
  await server.stop();
  await page.goto(url);
  assert.equal(new URL(page.url()).pathname, "/away", "the day page stands in for the practice's own");
  await page.getByText("The practice does not answer.").waitFor();
  for (const href of visits) {
    await page.goto(url + href);
    await page.locator("#kept-note").waitFor();
    await sweep("LF");
    await sweep("LH foot");
  }
  await page.goto(`${url}/practice/staff`);
  await page.getByRole("heading", { name: "This page is not on this tablet" }).waitFor();
  assert.deepEqual(await flaws(vet), []);
});

test("a visit begins for a horse of the list and for one that is not in it", { skip }, async () => {
  const { page, url } = vet;
  await page.goto(`${url}/away/pack`);
  const known = page.locator("#pack > li").nth(7);
  const name = await known.getAttribute("data-name");
  await page.getByLabel("Horse, owner or yard").fill(name.toLowerCase());
  assert.deepEqual(await flaws(vet), []);
  await picture(vet, "away-pack");
  await recorded(() => page.getByRole("link", { name: `Begin with ${name}` }).tap());
  await page.waitForURL(/\/visits\/[^/]+\/exam$/);
  assert.equal(await page.getByRole("heading", { level: 1 }).innerText(), name);
  await sweep("LF");

  await page.goto(`${url}/away/begin`);
  await page.getByLabel("Name of the horse").fill("Snow <Quill>");
  await page.getByLabel(/^Who it belongs to/).fill("Somebody at the gate, 0170 000000");
  await page.getByLabel(/^Where it stands/).fill("Behind the mill");
  await page.getByLabel(/^What is wrong/).fill("Lame since the morning");
  await recorded(() => page.getByRole("button", { name: "Begin the exam" }).tap());
  await page.waitForURL(/\/visits\/[^/]+\/exam$/);
  assert.equal(await page.getByRole("heading", { level: 1 }).innerText(), "Snow <Quill>");
  await sweep("LF");
  await page.getByText("Photo", { exact: true }).first().tap();
  await page.getByLabel("Photo", { exact: true }).setInputFiles({ name: "swelling.png", mimeType: "image/png", buffer: await page.screenshot() });
  await page.getByLabel(/^What it shows/).fill("left hind, lateral");
  await recorded(() => page.getByRole("button", { name: "Keep the photo" }).tap());
  await picture(vet, "away-unknown");

  await page.goto(`${url}/away`);
  await page.getByRole("heading", { name: "Begun on this tablet" }).waitFor();
  assert.equal(await page.locator("#begun li").count(), 2);
  const { text, shelves } = await all();
  for (const word of [name, "Snow", "gate", "lateral"]) assert.ok(!text.includes(word), `"${word}" stands on the tablet in the open`);
  // What stands in the open is nobody's: the program, and what can be recorded at any horse.
  const open = ["/tablet/locked", "/away/missing", "/exam/picks"];
  assert.ok(shelves.every((path) => path.startsWith("/static/") || open.includes(path)), shelves.join(" "));
  assert.ok(shelves.includes("/exam/picks"), "every picker opens without a signal");
});

test("the lock opens with the PIN and without the practice; wrong tries are counted", { skip }, async () => {
  const { page, url } = vet;
  await lock();
  assert.deepEqual(await flaws(vet), []);
  await picture(vet, "away-locked");
  await page.goto(url + visits[0]);
  await page.getByRole("heading", { name: `Locked for ${person.name}` }).waitFor();
  for (const left of [4, 3]) {
    await page.getByLabel("PIN").fill("111222");
    await page.getByRole("button", { name: "Unlock" }).tap();
    await page.getByText(`Tries left here: ${left}.`).waitFor();
  }
  await page.getByLabel("PIN").fill(PIN);
  await page.getByRole("button", { name: "Unlock" }).tap();
  await page.locator("#kept-note").waitFor();
  assert.equal(new URL(page.url()).pathname, visits[0]);
});

test("back in the practice everything is an ordinary visit, every entry once", { skip }, async () => {
  const { page, url } = vet;
  server = await start(["serve"], data, `${line.server}:${port}`);
  await page.goto(url);
  for (let tries = 0; (await rows("queue")) > 0; tries++) {
    assert.ok(tries < 300, "the queue does not empty");
    await page.waitForTimeout(100);
  }
  const id = (href) => href.split("/")[2].replaceAll("-", "");
  for (const href of visits) {
    assert.equal(ask(`select count(distinct json_extract(body, '$.sweep')) from entry where visit_id = x'${id(href)}'`), "2");
  }
  assert.equal(ask("select count(*) from visit v join visit_change c on c.visit_id = v.id where c.detail = 'away from the practice' and v.state = 'in_hand' and v.walk_in = 1"), "2");
  assert.equal(ask("select count(*) from horse where name = 'Snow <Quill>'"), "1");
  assert.match(ask("select what from follow_up where what like '%Snow <Quill>%'"), /Client: Somebody at the gate.*Yard: Behind the mill/);
  assert.equal(ask("select count(*) from complaint where words = 'Lame since the morning'"), "1");
  assert.equal(ask("select count(*) from entry e join attachment a on a.sha256 = e.body ->> 'value' join visit v on v.id = e.visit_id join horse h on h.id = v.horse_id where h.name = 'Snow <Quill>' and a.kind = 'image/jpeg' and e.body ->> 'text' = 'photo: left hind, lateral'"), "1");
  await page.goto(`${url}/search?q=Snow`);
  await page.getByText("Snow <Quill>").first().waitFor();
});

test("five wrong tries leave it to the practice, which opens it; nothing is deleted", { skip }, async () => {
  const { page, url } = vet;
  await page.goto(url + visits[0]);
  await server.stop();
  await lock();
  const tried = async (pin, words) => {
    await page.getByLabel(/^PIN/).fill(pin);
    await page.getByRole("button", { name: "Unlock" }).tap();
    await page.getByText(words).waitFor();
  };
  for (const left of [4, 3, 2, 1]) await tried("111222", `Tries left here: ${left}.`);
  await tried("111222", "now only the practice opens this tablet");
  await tried(PIN, "now only the practice opens this tablet");
  const kept = await rows("kept");
  server = await start(["serve"], data, `${line.server}:${port}`);
  await page.goto(url);
  await page.getByRole("heading", { name: `Locked for ${person.name}` }).waitFor();
  await page.getByLabel("PIN or password").fill(PIN);
  await page.getByRole("button", { name: "Unlock" }).tap();
  await page.getByRole("link", { name: "Take my day along" }).waitFor();
  assert.equal(await rows("kept"), kept);
});
