// An empty folder becomes a practice: code, owner, staff.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PORTRAIT, launch, leave, look, signIn, visitor } from "../support/browser.mjs";
import { scratch, start } from "../support/server.mjs";

const OWNER = { name: "Maren Quill", password: "teal ladder under ninety clouds" };
const STAFF = [
  { name: "Odd Fenner", role: "veterinarian", password: "slow kettle beside the harbour" },
  { name: "Ilse Brandt", role: "technician", password: "four green gates after rain" },
  { name: "Tam Okafor", role: "front desk", password: "window seat and cold porridge" },
];

let browser, server, folder;
before(async () => {
  folder = await scratch();
  [server, browser] = await Promise.all([start(["serve"], folder.folder), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
  await folder?.remove();
});

test("a practice is set up with the code, and its people are added", async () => {
  const owner = await visitor(browser, server.url, PORTRAIT);
  const { page } = owner;
  await page.goto(server.url);
  assert.equal(new URL(page.url()).pathname, "/set-up");
  await look(owner, "set-up", { dark: true });

  await fillIn(page, { code: "AAAA-BBBB-CCCC", password: "short", again: "short" });
  await look(owner, "set-up-refused", { dark: true });
  assert.match(await page.title(), /^Error: /);
  for (const label of ["One-time code", "Password"]) {
    const field = page.getByLabel(label, { exact: true });
    assert.equal(await field.getAttribute("aria-invalid"), "true", `${label} is marked`);
    assert.ok(await said(page, field), `${label} says what is wrong`);
  }
  assert.equal(await page.getByLabel("Name of the practice").inputValue(), "Orrside Horses");
  assert.equal(await page.getByLabel("Your name").inputValue(), OWNER.name);

  await fillIn(page, { code: server.code(), password: OWNER.password, again: OWNER.password });
  await page.waitForURL(/sign-in/);
  await look(owner, "sign-in", { dark: true });
  await signIn(owner, OWNER);

  for (const person of STAFF) {
    await page.goto(`${server.url}/practice/staff`);
    await page.getByLabel("Name", { exact: true }).fill(person.name);
    await page.getByRole("radio", { name: person.role, exact: false }).check();
    await page.getByLabel("First password").fill(person.password);
    await page.getByLabel("The same password again").fill(person.password);
    await page.getByRole("button", { name: "Add to the staff" }).click();
    await page.getByRole("link", { name: person.name }).first().waitFor();
  }
  await look(owner, "staff", { dark: true });
  for (const path of ["/practice", "/practice/tablets", "/practice/backups", "/me", "/me/second-factor", "/", "/call", "/horses", "/clients", "/follow-ups"]) {
    await page.goto(server.url + path);
    await look(owner, `empty${path.replaceAll("/", "-")}`);
  }
  const health = await page.request.get(`${server.url}/healthz`);
  assert.ok(health.ok());
  await leave(owner);

  const desk = await visitor(browser, server.url, PORTRAIT);
  await signIn(desk, STAFF[2]);
  assert.equal((await desk.page.goto(`${server.url}/practice`)).status(), 403);
  await leave(desk);
});

async function fillIn(page, { code, password, again }) {
  await page.getByLabel("One-time code").fill(code);
  await page.getByLabel("Name of the practice").fill("Orrside Horses");
  await page.getByLabel("Your name").fill(OWNER.name);
  await page.getByLabel("Password", { exact: true }).fill(password);
  await page.getByLabel("The same password again").fill(again);
  await page.getByRole("button", { name: "Set up the practice" }).click();
  await page.waitForLoadState();
}

/** The words that a field's description points at. */
async function said(page, field) {
  const ids = (await field.getAttribute("aria-describedby")) ?? "";
  const texts = await Promise.all(ids.split(" ").filter((id) => id.endsWith("-error")).map((id) => page.locator(`#${id}`).innerText()));
  return texts.join(" ");
}
