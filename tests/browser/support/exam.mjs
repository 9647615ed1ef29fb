// Steps of the examination that several journeys take.
import assert from "node:assert/strict";

/** Begins an exam of a known horse without a booking, and leaves its exam page open. */
export async function beginExam({ page, url }, horse) {
  await page.goto(`${url}/walk-in?q=${encodeURIComponent(horse)}`);
  await page.getByRole("option", { name: horse }).first().click();
  await page.getByRole("button", { name: "Begin the exam" }).click();
  await page.waitForURL(/\/visits\/.+/);
  if (!page.url().includes("/exam")) await page.goto(`${page.url().split("?")[0]}/exam`);
}

/** Does something that is sent without leaving the page, and waits until the page says that it is saved. */
export async function saved(page, act) {
  const status = page.getByRole("status");
  await status.evaluate((line) => (line.textContent = ""));
  await act();
  await status.filter({ hasText: /\S/ }).waitFor();
  assert.doesNotMatch(await status.innerText(), /Not saved/);
}

/** The section in which a gesture stands. */
const SECTIONS = [
  [/^(LF|RF|Both forelimbs)$/, "Forelimbs"],
  [/^(LH|RH|Both hindlimbs)$/, "Hindlimbs"],
  [/^(LF foot|RF foot|Both fore feet)$/, "Fore feet"],
  [/^(LH foot|RH foot|Both hind feet)$/, "Hind feet"],
  [/^Neck/, "Neck, back and pelvis"],
];

/** "Nothing found" for a whole part of the horse in one tap, in its section, which is opened when it is folded. */
export async function sweep(page, part, done = saved) {
  await open(page, SECTIONS.find(([parts]) => parts.test(part))[1]);
  await done(page, () => page.getByRole("button", { name: new RegExp(`^${part} nothing found`) }).tap());
}

/** Opens a section of the exam, if it is not open. */
export async function open(page, section) {
  const fold = page.locator("details.fold", { has: page.getByRole("heading", { name: section, exact: true }) });
  if (!(await fold.evaluate((details) => details.open))) await fold.getByRole("heading", { name: section, exact: true }).tap();
}
