// A bone scan: the owner enters the licence, a vet injects and measures, and the gate opens by what was measured alone.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave, look } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

const HORSES = ["Lorimer", "Brackenhold", "Old Gantry"];

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
  const owner = await comes(browser, server.url, SIZES[0], server.people.owner[0]);
  const { page } = owner;
  await page.goto(`${server.url}/practice/radiation`);
  await look(owner, "scan-licence-empty");
  // Those who sign no releases yet: the demonstration has an officer already.
  const others = await page.getByLabel("Who signs releases").locator("option").allTextContents();
  await page.locator("[name=reference]").fill("licence 7 of the valley");
  await page.getByLabel("Held for at least").fill("1");
  await page.getByLabel("Dose rate at 1 m at most").fill("5");
  await page.getByRole("button", { name: "Save the licence" }).tap();
  for (const { name } of server.people.vet.filter(({ name }) => others.includes(name))) {
    await page.getByLabel("Who signs releases").selectOption({ label: name });
    await page.getByRole("button", { name: "Name as officer" }).tap();
    await page.getByRole("button", { name: `Remove ${name}` }).waitFor();
  }
  await page.locator("[name=meter_name]").fill("the one in the scan room");
  await page.getByLabel("Serial number").fill("S1");
  await page.getByLabel("Calibrated on").fill("2026-01-10");
  await page.getByLabel("Calibration due").fill("2099-01-10");
  await page.getByRole("button", { name: "Add the meter" }).tap();
  await page.locator(".lines", { hasText: "the one in the scan room" }).waitFor();
  await look(owner, "scan-licence", { dark: true });
  await leave(owner);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** So many hours before now, as a form has it; the zone of the practice matters by an hour. */
const ago = (hours) => {
  const at = new Date(Date.now() - hours * 3_600_000);
  const two = (number) => String(number).padStart(2, "0");
  return { day: `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}`, time: `${two(at.getHours())}:${two(at.getMinutes())}` };
};

SIZES.forEach((size, n) => {
  test(`from the injection to a measured release, on a ${size.name} screen`, async () => {
    const vet = await comes(browser, server.url, size, server.people.vet[n]);
    const { page } = vet;
    await beginExam(vet, HORSES[n]);
    const visit = new URL(page.url()).pathname.split("/")[2];
    await page.goto(`${server.url}/visits/${visit}/diagnostics/new?study=scan_whole`);
    await page.getByRole("button", { name: /^Order/ }).tap();
    await page.getByRole("link", { name: "Scan, clock and release" }).tap();
    await page.getByRole("heading", { name: "Injection" }).waitFor();
    await look(vet, "scan-before", { dark: true });
    const injected = ago(30);
    await page.locator("[name=agent]").fill("oxidronate (HDP)");
    await page.locator("[name=inj_on]").fill(injected.day);
    await page.locator("[name=inj_at]").fill(injected.time);
    await page.locator("[name=full]").fill("lots");
    await page.locator("[name=full_at]").fill(injected.time);
    await page.locator("[name=left]").fill("50");
    await page.locator("[name=left_at]").fill(injected.time);
    await page.getByRole("button", { name: "Save the injection" }).tap();
    await page.getByRole("heading", { name: "There is a problem" }).waitFor();
    assert.equal(await page.locator("[name=full]").inputValue(), "lots", "what was typed stands");
    await page.locator("[name=full]").fill("5050");
    await page.getByRole("button", { name: "Save the injection" }).tap();
    await page.getByText("5000 MBq").first().waitFor();
    await look(vet, "scan-injected", { dark: true });

    const measure = async (rate) => {
      await page.getByText("Enter a reading").tap();
      await page.locator("[name=meter]").selectOption({ index: 1 });
      await page.locator("[name=rate]").fill(rate);
      await page.getByRole("radio", { name: "at 1 m" }).check();
      await page.getByRole("radio", { name: "elbow" }).check();
      await page.getByRole("radio", { name: "µSv/h" }).check();
      await page.getByRole("button", { name: "Save the reading" }).tap();
      await page.locator("#rates li", { hasText: `${rate} µSv/h` }).first().waitFor();
    };
    await measure("7");
    assert.equal(await page.getByRole("button", { name: "Sign the release" }).count(), 0, "above the limit nobody signs");
    await look(vet, "scan-shut", { dark: true });
    await measure("4");
    await page.getByLabel("Your password").fill(server.people.vet[n].password);
    await page.getByRole("button", { name: "Sign the release" }).tap();
    await page.locator("#released").waitFor();
    await look(vet, "scan-released", { dark: true });
    await leave(vet);
  });
});
