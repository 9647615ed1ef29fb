// A tablet at another address: it takes the practice's certificate, and walks the exam over https by name.
import assert from "node:assert/strict";
import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { SIZES, flaws, launch, picture, signIn, visitor } from "../support/browser.mjs";
import { beginExam, sweep } from "../support/exam.mjs";
import { cable, possible, tablet } from "../support/network.mjs";
import { scratch, start } from "../support/server.mjs";

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
