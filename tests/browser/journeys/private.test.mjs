// A browser that refuses to keep anything, as some do in private windows: the exam works all the same, straight to the
// practice, and says plainly that this tablet keeps nothing.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, launch, leave, look, signIn, visitor } from "../support/browser.mjs";
import { beginExam, open } from "../support/exam.mjs";
import { entries } from "../support/record.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** How browsers refuse: the store is not there, opening it throws, or it says no. */
const REFUSALS = {
  "the store is not there": `Object.defineProperty(globalThis, "indexedDB", { value: undefined });`,
  "opening it throws": `IDBFactory.prototype.open = () => { throw new DOMException("refused", "SecurityError"); };`,
  "the store says no": `IDBFactory.prototype.open = () => {
    const request = { error: new DOMException("refused", "InvalidStateError") };
    setTimeout(() => request.onerror?.());
    return request;
  };`,
};

for (const [words, refusal] of Object.entries(REFUSALS)) {
  test(`where ${words}, a tap goes straight to the practice and the page says so`, async () => {
    const vet = await visitor(browser, server.url, PORTRAIT);
    await vet.context.addInitScript(refusal);
    await signIn(vet, server.people.vet[0]);
    await beginExam(vet, "Lorimer");
    const { page } = vet;
    const visit = new URL(page.url()).pathname.split("/")[2];
    await open(page, "Forelimbs");
    const line = page.locator("#saved");
    const recorded = (place) => page.locator(".cell").getByRole("link", { name: `${place}: nothing found` });
    await page.getByRole("region", { name: "On this tablet" }).getByText("This browser keeps nothing on this tablet").waitFor();
    for (const place of ["left fore fetlock, dorsal", "right fore fetlock, dorsal"]) {
      await page.getByRole("button", { name: `Nothing found: ${place}` }).tap();
      await recorded(place).waitFor();
    }
    await line.filter({ hasText: /^\s*Saved in the practice \d/ }).waitFor();
    assert.equal((await entries(server.data, visit)).length, 2);

    await vet.context.setOffline(true);
    await page.getByRole("button", { name: "Nothing found: left fore carpus, dorsal" }).tap();
    await page.getByRole("status").filter({ hasText: "Not saved - no connection" }).waitFor();
    await look(vet, `queue-none-${words.replaceAll(" ", "-")}`);
    assert.doesNotMatch(await line.innerText(), /saved on this tablet, not yet/);
    await vet.context.setOffline(false);
    await page.getByRole("button", { name: "Nothing found: left fore carpus, dorsal" }).tap();
    await recorded("left fore carpus, dorsal").waitFor();
    assert.equal((await entries(server.data, visit)).length, 3);
    vet.faults.splice(0, vet.faults.length, ...vet.faults.filter((fault) => !/ERR_INTERNET_DISCONNECTED/.test(fault)));
    await leave(vet);
  });
}
