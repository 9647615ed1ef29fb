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

/** "Nothing found" for a whole part of the horse in one tap. */
export async function sweep(page, part) {
  await saved(page, () => page.getByRole("button", { name: new RegExp(`^${part} nothing found`) }).tap());
}

/** Unfolds a part of the exam. */
export async function unfold(page, part) {
  const rows = page.getByRole("region", { name: part, exact: true });
  if ((await rows.getByRole("link", { name: /^Record a finding|:/ }).filter({ visible: true }).count()) === 0) await rows.getByRole("heading", { name: part }).tap();
}
