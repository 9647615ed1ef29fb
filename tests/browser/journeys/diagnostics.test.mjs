// Diagnostics at three sizes: from a place of the exam to an order in two taps, through what was taken and what it
// shows, to a client who knows.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open } from "../support/exam.mjs";
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
  test(`ordered, taken, reported, told, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSES[n]);
    await open(page, "Forelimbs");
    await page.getByRole("link", { name: "Record a finding: right fore fetlock, dorsal" }).tap();
    await page.getByRole("link", { name: "Order images or samples" }).first().tap();
    await page.getByRole("heading", { name: "For right fore fetlock, dorsal" }).waitFor();
    await look(vet, "diagnostics-visit", { dark: true });
    await page.getByRole("button", { name: /^Order the usual set ?: right fore fetlock$/ }).tap();
    await page.getByText("4 not taken yet").waitFor();
    await look(vet, "diagnostics-order", { dark: true });
    const order = page.url();

    await page.goto(`${server.url}/diagnostics`);
    await look(vet, "diagnostics-list");
    assert.equal(await page.locator("#today").getByRole("link", { name: "fetlock, right fore" }).count(), 1);

    await page.goto(order);
    await page.getByText("Repeat, leave out").first().tap();
    const first = page.locator("#items li").first();
    await first.getByRole("button", { name: "Left out" }).tap();
    await page.getByRole("heading", { name: "There is a problem" }).waitFor();
    await look(vet, "diagnostics-refused");
    await first.getByLabel("Why").fill("would not stand for it");
    await first.getByRole("button", { name: "Left out" }).tap();
    await page.getByText("3 not taken yet").waitFor();
    await page.getByRole("button", { name: "All taken" }).tap();
    await page.getByText("no report yet").waitFor();

    await page.getByRole("radio", { name: "right fore fetlock, dorsal" }).check();
    await page.getByLabel("What it shows there").fill("small rounded fragment");
    await page.getByRole("button", { name: "Add it" }).tap();
    await page.locator("#shown").getByText("small rounded fragment (radiographs)").first().waitFor();
    await page.getByLabel("What it says").fill("One rounded fragment at the dorsal margin, else clean.");
    await page.getByRole("button", { name: "Save the report" }).tap();
    await page.getByText("client not told").waitFor();
    await look(vet, "diagnostics-reported", { dark: true });
    await page.getByLabel("Who was told, and how").fill("the owner, beside the horse");
    await page.getByRole("button", { name: "The client knows" }).tap();
    await page.getByText("client told", { exact: true }).waitFor();

    await page.getByRole("link", { name: "History" }).tap();
    await page.getByText("small rounded fragment (radiographs)").first().waitFor({ state: "attached" });
    await page.goto(`${server.url}/diagnostics`);
    assert.equal(await page.getByRole("link", { name: "fetlock, right fore" }).count(), 0, "nothing about it is open");
    await leave(vet);
  });
});
