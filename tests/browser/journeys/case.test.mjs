// A case that goes on: history with one tap into today's exam, who may do what, a hand-over, a visit under the wrong
// horse, a horse that dies, and what is due.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam, open } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const horseOf = (page) => page.getByRole("link", { name: "History" }).getAttribute("href");
const status = async (page, path) => (await page.goto(path)).status();

for (const [n, size] of SIZES.entries()) {
  test(`the history leads into today's exam, and each role stays in its room, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    await beginExam(vet, "Tarrow Gate");
    const visit = new URL(vet.page.url()).pathname.replace(/\/exam$/, "");
    await vet.page.goto(server.url + (await horseOf(vet.page)));
    await vet.page.getByRole("heading", { name: "Look at again today" }).waitFor();
    await look(vet, "history", { dark: true });
    const again = vet.page.getByRole("main").locator('a[href*="/exam?open="]').first();
    await again.tap();
    await vet.page.waitForURL(/\/exam\?open=/);
    await vet.page.getByRole("button", { name: "Nothing found here" }).waitFor();

    const technician = await comes(browser, server.url, size, server.people.technician[0]);
    assert.equal(await status(technician.page, `${server.url}${visit}/exam`), 200);
    await open(technician.page, "Forelimbs");
    await technician.page.getByRole("button", { name: /^LF nothing found/ }).waitFor();
    assert.equal(await status(technician.page, `${server.url}${visit}/sign`), 403, "only a veterinarian signs");
    const desk = await comes(browser, server.url, size, server.people.desk[0]);
    for (const page of ["exam", "report", "assessment", "history"]) {
      assert.equal(await status(desk.page, `${server.url}${visit}/${page}`), 403, `the desk has no business in ${page}`);
    }
    await look(desk, "refused");
    await leave(vet, technician, desk);
  });

  test(`a case is handed over and accepted, then put under the right horse, on a ${size.name} screen`, async () => {
    const [from, to] = [server.people.vet[n], server.people.vet[(n + 1) % 3]];
    const giver = await comes(browser, server.url, size, from);
    await beginExam(giver, "Tarrow Gate");
    const visit = new URL(giver.page.url()).pathname.replace(/\/exam$/, "");
    await giver.page.goto(server.url + visit);
    await look(giver, "visit", { dark: true });
    await giver.page.getByText("Hand this case over").click();
    await giver.page.getByLabel("To", { exact: true }).selectOption({ label: to.name });
    await giver.page.getByLabel("How the case stands, in a line").fill("Radiographs are done, the trot-up is still to come.");
    await giver.page.getByRole("button", { name: "Offer the case" }).click();
    await look(giver, "offered");

    const receiver = await comes(browser, server.url, size, to);
    await receiver.page.goto(server.url + visit);
    await look(receiver, "offer");
    await receiver.page.getByRole("button", { name: "Accept the case" }).click();
    await receiver.page.goto(`${server.url}${visit}/horse`);
    await receiver.page.getByLabel("Which horse is it?").pressSequentially("Fennimore");
    await receiver.page.locator("a[href*='horse?to=']", { hasText: "Fennimore" }).click();
    await receiver.page.getByRole("button", { name: "Move the whole visit" }).click();
    await receiver.page.getByRole("heading", { name: "There is a problem" }).waitFor();
    await receiver.page.getByLabel("How it came under the wrong horse").fill("Two bays stood side by side");
    await look(receiver, "wrong-horse");
    await receiver.page.getByRole("button", { name: "Move the whole visit" }).click();
    await receiver.page.waitForURL((url) => !url.pathname.endsWith("/horse"));
    assert.match(await receiver.page.getByRole("main").innerText(), /Fennimore/);
    await leave(giver, receiver);
  });

  test(`a dead horse leaves the book at once, and what was promised is closed, on a ${size.name} screen`, async () => {
    const desk = await comes(browser, server.url, size, server.people.desk[0]);
    const { page } = desk;
    await page.goto(`${server.url}/follow-ups`);
    await look(desk, "follow-ups", { dark: true });
    const due = page.getByRole("main").locator("a[href^='/horses/']:not([href*='contacts'])").nth(n);
    const [horse, name] = [await due.getAttribute("href"), await due.innerText()];
    await page.goto(`${server.url}${horse}/status`);
    await page.getByRole("radio", { name: /dead/i }).check();
    await page.getByLabel("Since").fill("31 Feb 2026");
    await page.getByRole("button", { name: "Save the status" }).click();
    await page.getByRole("heading", { name: "There is a problem" }).waitFor();
    assert.equal(await page.getByLabel("Since").inputValue(), "31 Feb 2026");
    await look(desk, "status-refused");
    await page.getByLabel("Since").fill(new Date().toISOString().slice(0, 10));
    await page.getByRole("button", { name: "Save the status" }).click();
    await page.waitForURL((url) => !url.pathname.endsWith("/status"));
    await look(desk, "horse-dead", { dark: true });
    assert.match(await page.getByRole("main").innerText(), /To be closed/);
    const answer = await page.goto(`${server.url}/call?horse=${horse.split("/").pop()}`);
    assert.ok(answer.status() < 500);
    assert.equal(await page.getByRole("button", { name: "Book the visit" }).count(), 0, `${name} cannot be booked`);
    await page.goto(`${server.url}/search?q=${encodeURIComponent(name.slice(0, 5))}`);
    await look(desk, "search");
    await leave(desk);
  });
}
