// No mouse and no thumb: booking, a finding and a signature by keys alone, the focus always in sight.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LANDSCAPE, comes, counted, launch, leave, reset } from "../support/browser.mjs";
import { beginExam, saved } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test("booking, a finding and a signature by keys alone", async () => {
  const person = server.people.vet[2];
  const vet = await comes(browser, server.url, LANDSCAPE, person);
  const { page } = vet;
  await page.goto(`${server.url}/call`);
  await reset(page);
  await page.keyboard.type("lorim");
  await page.getByRole("option", { name: /Lorimer/ }).first().waitFor();
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  await page.waitForURL(/horse=/);
  await tabTo(page, page.getByLabel("What is wrong, in the caller's words"));
  await page.keyboard.type("Stiff behind");
  await tabTo(page, page.getByRole("button", { name: "tomorrow" }));
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "tomorrow", pressed: true }).waitFor();
  await tabTo(page, page.getByRole("group", { name: /^Free on/ }).getByRole("radio").first());
  await page.keyboard.press("Space");
  await tabTo(page, page.getByRole("button", { name: "Book the visit" }).last());
  await page.keyboard.press("Enter");
  await page.getByText(/^Booked: Lorimer/).waitFor();
  console.log(`booking by keys alone: ${(await counted(page)).keys} keys`);

  await beginExam(vet, "Old Gantry");
  const visit = new URL(page.url()).pathname.split("/")[2];
  await reset(page);
  await tabTo(page, page.getByRole("region", { name: "Forelimbs" }).locator("summary").first());
  await page.keyboard.press("Enter");
  await tabTo(page, page.getByRole("link", { name: "Record a finding: left fore shoulder joint" }));
  await page.keyboard.press("Enter");
  const grade = page.getByRole("button", { name: /^pain on palpation: 2/ });
  await grade.waitFor();
  await tabTo(page, grade);
  await saved(page, () => page.keyboard.press("Enter"));
  await page.getByRole("link", { name: /^left fore shoulder joint: abnormal/ }).waitFor();
  console.log(`a finding by keys alone: ${(await counted(page)).keys} keys`);

  await page.goto(`${server.url}/visits/${visit}/sign`);
  await tabTo(page, page.getByLabel("Your password"));
  await page.keyboard.type(person.password);
  await page.keyboard.press("Enter");
  await page.waitForURL((to) => !to.pathname.endsWith("/sign"));
  await leave(vet);
});

/** Presses Tab until the control has the focus; at each stop the focus must show and not lie under a bar. */
async function tabTo(page, control) {
  const wanted = await control.elementHandle();
  for (let press = 0; press < 400; press += 1) {
    await page.keyboard.press("Tab");
    const stop = await page.evaluate((target) => {
      const here = document.activeElement;
      if (here === document.body) return { there: false, shown: true, covered: false }; // from the last control to the first
      const shape = here.closest(".choice") ?? here;
      const box = shape.getBoundingClientRect();
      const [x, y] = [box.left + Math.min(box.width, innerWidth) / 2, box.top + Math.min(box.height, 20) / 2];
      const top = document.elementFromPoint(x, y);
      const covered = box.width > 2 && !(top && (shape.contains(top) || top.contains(shape) || top.closest("label")?.contains(here)));
      return { there: here === target, name: `${here.tagName} ${here.getAttribute("aria-label") ?? here.textContent ?? here.name}`.slice(0, 60), covered, shown: here.matches(":focus-visible") };
    }, wanted);
    assert.ok(stop.shown, `the focus shows at ${stop.name}`);
    assert.ok(!stop.covered, `the focus lies under something at ${stop.name}`);
    if (stop.there) return;
  }
  assert.fail("not reached by Tab");
}
