// A muscle biopsy: the suspicion proposes the muscle, the sample is taken on a clock, and its sheet says what it still needs.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
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
  test(`from the suspicion to the submission sheet, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSES[n]);
    const visit = new URL(page.url()).pathname.split("/")[2];
    await page.goto(`${server.url}/visits/${visit}/diagnostics/new?study=muscle_biopsy`);
    await look(vet, "biopsy-suspicion", { dark: true });
    await page.getByRole("link", { name: /Propose its muscles ?: equine motor neuron disease/ }).tap();
    const sacro = page.locator("input[name=item][value=BX_SACRO]");
    await sacro.waitFor({ state: "attached" });
    assert.ok(await sacro.isChecked(), "the muscle that follows from the suspicion");
    await page.locator("input[name=protocol][value=formalin]").check();
    await look(vet, "biopsy-order");
    await page.getByRole("button", { name: /^Order/ }).last().tap();
    await page.getByRole("heading", { name: "Samples" }).waitFor();
    const order = page.url();
    await page.locator("#sample > summary").tap();
    await page.locator("#sample select[name=item]").selectOption({ index: 1 });
    await page.locator("#sample [name=method]").fill("open biopsy");
    await page.locator("#sample [name=taken_at]").fill("half past");
    await page.getByRole("button", { name: "Save the sample" }).tap();
    await page.getByRole("heading", { name: "There is a problem" }).waitFor();
    await look(vet, "biopsy-refused");
    assert.equal(await page.locator("[name=method]").inputValue(), "open biopsy", "what was typed stands");
    await page.locator("#sample [name=taken_at]").fill("0:01");
    await page.locator("#sample [name=sample_side]").first().check();
    await page.getByRole("button", { name: "Save the sample" }).tap();
    await page.locator("#taken .minutes").waitFor();
    await page.goto(order);
    await look(vet, "biopsy-taken", { dark: true });
    await page.getByRole("link", { name: "Submission sheet" }).tap();
    await page.locator("#not-ready").waitFor();
    await look(vet, "biopsy-sheet", { dark: true });
    await page.locator("textarea[name=history]").fill("Losing muscle along the back since autumn.");
    await page.locator("textarea[name=signs]").fill("Trembles, weight shifting.");
    await page.getByRole("button", { name: "Save the sheet" }).tap();
    await page.locator("#ready").waitFor();
    await look(vet, "biopsy-ready");
    await leave(vet);
  });
});
