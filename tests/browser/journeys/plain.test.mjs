// Without any script the job can still be done: every step is a plain form.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, comes, launch, leave } from "../support/browser.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const PLAIN = { javaScriptEnabled: false };

test("booking without script", async () => {
  const desk = await comes(browser, server.url, PORTRAIT, server.people.desk[0], PLAIN);
  const { page } = desk;
  await page.goto(`${server.url}/call`);
  const search = page.getByRole("search", { name: "The call" });
  await search.getByRole("searchbox").fill("lorim");
  await search.getByRole("button", { name: "Search" }).click();
  await page.getByRole("link", { name: /Lorimer/ }).first().click();
  await page.getByLabel("What is wrong, in the caller's words").fill("Stiff behind");
  await page.getByRole("button", { name: "tomorrow", exact: true }).click();
  assert.equal(await page.getByLabel("What is wrong, in the caller's words").inputValue(), "Stiff behind");
  await page.getByRole("group", { name: /^Free on/ }).getByRole("radio").last().check();
  await page.getByRole("button", { name: "Book the visit" }).last().click();
  await page.getByText(/^Booked: Lorimer/).waitFor();
  await leave(desk);
});

test("an exam and its signature without script", async () => {
  const person = server.people.vet[1];
  const vet = await comes(browser, server.url, PORTRAIT, person, PLAIN);
  const { page } = vet;
  await page.goto(`${server.url}/walk-in?q=Brackenhold`);
  await page.getByRole("link", { name: /Brackenhold/ }).first().click();
  await page.getByRole("button", { name: "Begin the exam" }).click();
  const visit = new URL(page.url()).pathname.split("/")[2];
  await page.goto(`${server.url}/visits/${visit}/exam`);
  await page.getByRole("heading", { name: "Forelimbs" }).click();
  await page.getByRole("button", { name: /^LF nothing found/ }).click();
  await page.getByRole("button", { name: /^Undo: nothing found/ }).waitFor();
  await page.getByRole("heading", { name: "Forelimbs" }).click();
  const place = page.getByRole("link", { name: "Record a finding: right fore fetlock, dorsal" });
  if (!(await place.isVisible())) await page.getByRole("heading", { name: "Forelimbs" }).click();
  await place.click();
  await page.getByRole("button", { name: "effusion: 2 moderate" }).click();
  await page.getByRole("link", { name: /^right fore fetlock, dorsal: abnormal, grade 2/ }).waitFor();
  await page.goto(`${server.url}/visits/${visit}/sign`);
  await page.getByLabel("Your password").fill(person.password);
  await page.getByRole("button", { name: /^Sign .*visit$/ }).click();
  await page.goto(`${server.url}/visits/${visit}/report`);
  assert.match(await page.getByRole("main").innerText(), /effusion/i);
  assert.match(await page.getByRole("main").innerText(), /signed/i);
  await leave(vet);
});
