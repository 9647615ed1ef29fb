// A case with both hind limbs and the back, entered from a written script by touch: what was stored is the script.
import assert from "node:assert/strict";
import { execFile } from "node:child_process";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { promisify } from "node:util";
import { PORTRAIT, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open, saved } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

const script = JSON.parse(await readFile(new URL("../data/bilateral.json", import.meta.url), "utf8"));
const escaped = (words) => words.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test("22 findings of a bilateral case are stored as they were said", async () => {
  assert.equal(script.length, 22);
  const vet = await comes(browser, server.url, PORTRAIT, server.people.vet[0]);
  const { page } = vet;
  await beginExam(vet, "Lorimer");
  const visit = new URL(page.url()).pathname.split("/")[2];
  for (const line of script) await (line.place ? finding(page, line) : motion(page, line));
  await look(vet, "bilateral", { dark: true });
  await page.goto(`${server.url}/visits/${visit}/report`);
  await look(vet, "bilateral-report");
  await leave(vet);

  await server.halt();
  const stored = await rows(visit);
  const told = script.map((line) => line.row);
  const order = (row) => [row.kind, row.region, row.side, row.limb, row.code].join(" ");
  const sorted = (all) => all.toSorted((a, b) => order(a).localeCompare(order(b)));
  assert.deepEqual(sorted(stored), sorted(told));
});

/** Opens the place unless it is open, taps the grade, and adds where and a note in the second form. */
async function finding(page, line) {
  const picker = page.getByRole("group", { name: line.place, exact: true });
  if (!(await picker.isVisible())) {
    const place = page.getByRole("region", { name: line.part }).getByRole("link", { name: new RegExp(`^(Record a finding: ${escaped(line.place)}$|${escaped(line.place)}: )`) });
    await open(page, line.part);
    await place.tap();
  }
  await saved(page, () => picker.getByRole("group", { name: line.ask, exact: true }).getByRole("button", { name: new RegExp(`: ${line.answer}\\b`) }).tap());
  if (!line.where) return;
  await picker.getByRole("link", { name: "More detail" }).tap();
  await picker.getByLabel("Where").selectOption({ label: line.where });
  await picker.getByLabel("Note").fill(line.note);
  await saved(page, () => picker.getByRole("button", { name: "Save the detail" }).tap());
}

/** A grade of a gait or a flexion. */
async function motion(page, line) {
  await open(page, line.seconds ? "Flexion" : "Moving");
  const form = page.getByRole("form", { name: line.form });
  const tests = page.getByRole("link", { name: "Show the tests" });
  if (line.seconds && (await tests.isVisible())) await tests.tap();
  if (line.seconds) await form.getByRole("radio", { name: line.seconds, exact: true }).check();
  await saved(page, () => form.getByRole("group", { name: line.limb, exact: true }).getByRole("button", { name: new RegExp(`^${line.limb} ${line.answer},`) }).tap());
}

/** The rows of the visit that stand, from the file of the server that has stopped. */
async function rows(visit) {
  const query = `select body from entry e where visit_id = x'${visit.replaceAll("-", "")}' and kind in ('finding', 'gait', 'flexion')
    and not exists (select 1 from entry later where later.supersedes = e.id)`;
  const { stdout } = await promisify(execFile)("sqlite3", ["-readonly", join(server.data, "practice.sqlite"), query]);
  return stdout.trim().split("\n").map((body) => {
    const { reason, ...row } = JSON.parse(body);
    return row;
  });
}
