// A tablet at another address: it takes the practice's certificate, and walks the exam over https by name.
import assert from "node:assert/strict";
import { readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { SIZES, comes, flaws, launch, look, picture, signIn, switchedOn, visitor } from "../support/browser.mjs";
import { beginExam, sweep } from "../support/exam.mjs";
import { cable, possible, tablet } from "../support/network.mjs";
import { entries } from "../support/record.mjs";
import { ran, scratch, start } from "../support/server.mjs";

const [, PORTRAIT] = SIZES;
const skip = possible() ? false : "making a network namespace takes root";
let folder, remove, line, server, device, port;

before(async () => {
  if (skip) return;
  ({ folder, remove } = await scratch());
  line = cable();
  server = await start(["demo"], join(folder, "demo"), `${line.server}:0`);
  port = new URL(server.url).port;
  device = await tablet(folder, line.space);
});

after(async () => {
  await server?.stop();
  line?.remove();
  await remove?.();
});

async function people() {
  const lines = (await readFile(join(folder, "demo", "demo-sign-ins.tsv"), "utf8")).trim().split("\n");
  return Object.fromEntries(lines.map((l) => l.split("\t")).map(([role, name, password]) => [role, { name, password }]));
}

test("a tablet takes the certificate by address and examines over https by name", { skip }, async () => {
  const address = `http://${line.server}:${port}`;
  const plain = await launch({ program: device.program });
  const first = await visitor(plain, address, PORTRAIT);
  await first.page.goto(address);
  await first.page.getByRole("heading", { level: 1 }).waitFor();
  assert.deepEqual(await flaws(first), []);
  await picture(first, "trust");
  const href = await first.page.locator("a[href$='.crt']").first().getAttribute("href");
  await plain.close();

  const certificate = join(folder, "practice.crt");
  await writeFile(certificate, line.inside("curl", "-sf", `${address}${href}`));
  device.trust(certificate);

  const name = `https://limbledger-demo.local:${port}`;
  const extra = [`--host-resolver-rules=MAP limbledger-demo.local ${line.server}`];
  const browser = await launch({ program: device.program, extra });
  const vet = await visitor(browser, name, PORTRAIT);
  await signIn(vet, (await people()).vet);
  assert.equal(await vet.page.evaluate(() => window.isSecureContext), true);
  const [cookie] = (await vet.context.cookies()).filter((c) => c.name === "__Host-sid");
  assert.ok(cookie?.secure && cookie.httpOnly, "the session cookie is bound to this host over TLS");

  await beginExam(vet, "Tarrow Gate");
  await sweep(vet.page, "LF");
  await vet.page.getByRole("button", { name: /^Undo: nothing found/ }).first().waitFor();
  assert.deepEqual(vet.faults, []);
  await picture(vet, "lan-exam");
  await browser.close();
});

test("everything else in plain http is refused, and nothing is redirected", { skip }, () => {
  const ask = (...args) =>
    line.inside("curl", "-s", "-o", "/dev/null", "-w", "%{http_code} %{redirect_url}", ...args).toString().trim();
  const address = `http://${line.server}:${port}`;
  assert.equal(ask(`${address}/sign-in`), "403");
  assert.equal(ask("-X", "POST", `${address}/`), "403");
  assert.equal(ask("-k", "-H", "Host: elsewhere.test", `https://${line.server}:${port}/`), "421");
});

test("a practice that is lost and restored at another address gets what a tablet had kept", { skip }, async () => {
  const staff = await people();
  const name = `https://limbledger-demo.local:${port}`;
  const at = (address) => ({ program: device.program, extra: [`--host-resolver-rules=MAP limbledger-demo.local ${address}`] });
  const browser = await launch(at(line.server));
  const owner = await comes(browser, name, PORTRAIT, staff.owner);
  await owner.page.goto(`${name}/practice/backups`);
  await look(owner, "backups");
  await owner.page.getByLabel("Your password").fill(staff.owner.password);
  await owner.page.getByRole("button", { name: "Make a recovery passphrase" }).click();
  const phrase = await owner.page.locator("#the-phrase").innerText();
  await look(owner, "backups-passphrase");
  assert.deepEqual(owner.faults, []);
  await browser.close();

  const profile = join(folder, "profile");
  let vet = await switchedOn(profile, name, PORTRAIT, at(line.server));
  await signIn(vet, staff.vet);
  await beginExam(vet, "Tarrow Gate");
  await sweep(vet.page, "LF");
  const saved = (words) => vet.page.locator("#saved").filter({ hasText: words }).waitFor();
  const [exam, visit] = [vet.page.url(), new URL(vet.page.url()).pathname.split("/")[2]];
  const copy = join(folder, "copy.zip");
  await ran(["backup", copy, "--data", server.data]);

  await server.kill();
  await rm(server.data, { recursive: true });
  await sweep(vet.page, "RF", async (page, act) => {
    await act();
    await saved(/1 saved on this tablet, not yet in the practice/);
  });
  await vet.context.close();

  const restored = join(folder, "restored");
  await ran(["restore", copy, "--data", restored], `${phrase.toLowerCase()}\n`);
  server = await start(["serve"], restored, `${line.other}:${port}`);
  vet = await switchedOn(profile, name, PORTRAIT, at(line.other));
  await signIn(vet, staff.vet);
  await vet.page.goto(exam);
  await saved(/^\s*Saved in the practice \d/);
  const limbs = (await entries(restored, visit)).map((row) => row.limb);
  for (const limb of ["LF", "RF"]) assert.ok(limbs.includes(limb), `${limb} is in the restored practice: ${limbs}`);
  assert.equal(new Set((await entries(restored, visit)).map((row) => row.id)).size, limbs.length);
  await vet.context.close();
});
