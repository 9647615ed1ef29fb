// The veterinarian: from the day to a signed visit and its report, at three sizes; each vet of the practice on one.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open, saved, sweep } from "../support/exam.mjs";
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
  test(`from the day to the signature, on a ${size.name} screen`, async () => {
    const person = server.people.vet[n];
    const vet = await comes(browser, server.url, size, person);
    const { page } = vet;
    await look(vet, "vet-day", { dark: true });
    await beginExam(vet, HORSES[n]);
    await look(vet, "exam", { dark: true });
    const visit = new URL(page.url()).pathname.replace(/\/exam$/, "");

    await open(page, "Forelimbs");
    await page.getByRole("link", { name: "Record a finding: right fore fetlock, dorsal" }).tap();
    await look(vet, "exam-picker", { dark: true });
    await saved(page, () => page.getByRole("button", { name: "effusion: 2 moderate" }).tap());
    await page.getByRole("link", { name: /^right fore fetlock, dorsal: abnormal, grade 2/ }).waitFor();

    const undo = page.getByRole("button", { name: /^Undo: nothing found/ });
    await sweep(page, "LF");
    assert.equal(await undo.count(), 1);
    await saved(page, () => undo.tap());
    await undo.waitFor({ state: "detached" });
    await sweep(page, "LF");
    await open(page, "Moving");
    await saved(page, () => page.getByRole("button", { name: "RF 2, subtle" }).nth(1).tap());
    await look(vet, "exam-recorded", { dark: true });

    await page.goto(`${server.url}${visit}/assessment`);
    await look(vet, "assessment", { dark: true });
    await write(page, "Add a problem", async () => {
      await page.getByRole("group", { name: "How certain" }).getByRole("radio").first().check();
      await page.getByLabel("Problem", { exact: true }).fill("Synovitis of the right fore fetlock");
      await look(vet, "assessment-problem");
      return "Save the problem";
    });
    await write(page, "Add to the plan", async () => {
      await page.getByLabel("What is to be done, and by whom").fill("Box rest for ten days, then walk in hand");
      return "Save the plan";
    });
    await write(page, "Add a follow-up", async () => {
      await page.getByRole("group", { name: "When" }).getByRole("radio").first().check();
      await page.getByLabel("What is due").fill("Trot up again on hard ground");
      return "Save the follow-up";
    });

    await page.getByRole("link", { name: "Review and sign" }).click();
    await look(vet, "sign", { dark: true });
    const sign = page.getByRole("button", { name: /^Sign .*visit$/ });
    await page.getByLabel("Your password").fill("271828");
    await sign.click();
    await page.getByRole("heading", { name: "There is a problem" }).waitFor();
    await look(vet, "sign-refused");
    await page.getByLabel("Your password").fill(person.password);
    await sign.click();
    await page.waitForURL((to) => !to.pathname.endsWith("/sign"));
    await look(vet, "signed");

    await page.goto(`${server.url}${visit}/report`);
    await look(vet, "report", { dark: true });
    const report = await page.getByRole("main").innerText();
    for (const words of [/effusion/i, /Synovitis of the right fore fetlock/, /Trot up again/]) assert.match(report, words);
    await page.goto(`${server.url}${visit}/exam`);
    assert.equal(await page.getByRole("button", { name: "Save vital signs" }).count(), 0, "a signed exam takes no more");
    await look(vet, "exam-signed");
    await page.goto(`${server.url}${visit}/addenda`);
    await look(vet, "addenda");
    await leave(vet);
  });
});

/** Opens one part of the assessment unless it is open, fills it in and saves it. */
async function write(page, add, fill) {
  const opens = page.getByRole("link", { name: add });
  if (await opens.count()) await opens.click();
  const button = await fill();
  await saved(page, () => page.getByRole("button", { name: button }).click());
}
