// No mouse and no thumb: booking, a finding and a signature by keys alone, the focus always in sight.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { LANDSCAPE, comes, counted, launch, leave, look, reset } from "../support/browser.mjs";
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
  await tabTo(page, page.getByRole("button", { name: "tomorrow", exact: true }));
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "tomorrow", exact: true, pressed: true }).waitFor();
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

test("a scribe goes through the exam by the keys that the page tells", async () => {
  const vet = await comes(browser, server.url, LANDSCAPE, server.people.vet[0]);
  const { page } = vet;
  await beginExam(vet, "Tarrow Gate");
  const { keyboard } = page;
  const focused = page.locator(":focus");
  const name = () => focused.evaluate((element) => element.ariaLabel ?? element.textContent.trim());
  const presses = async (key, until) => {
    for (let times = 0; times < 14; times++) {
      await keyboard.press(key);
      if (until.test(await name())) return;
    }
    assert.fail(`${key} does not lead to ${until}, but to ${await name()}`);
  };
  await tabTo(page, page.locator("#keys > summary"));
  await keyboard.press("Enter");
  for (const key of ["Alt", "Page Down", "L", "Space", "Enter", "Esc"]) await page.locator("#keys kbd", { hasText: key }).first().waitFor();
  await look(vet, "exam-keys");

  await presses("Alt+PageDown", /^Forelimbs/);
  await presses("Tab", /: left fore /);
  const first = (await name()).split(": ")[1];
  await keyboard.press("ArrowDown");
  assert.notEqual((await name()).split(": ")[1], first, "the arrow leads to the place below");
  await keyboard.press("ArrowUp");
  if (!/^Nothing/.test(await name())) await keyboard.press("ArrowRight");
  assert.match(await name(), /^Nothing found: left fore/);
  await saved(page, () => keyboard.press("Space"));
  await page.getByRole("link", { name: `${first}: nothing found` }).waitFor();

  await keyboard.press("ArrowDown");
  const second = (await name()).split(": ")[1];
  if (!/^Record/.test(await name())) await keyboard.press("ArrowLeft");
  await keyboard.press("Enter");
  const picker = page.getByRole("group", { name: second, exact: true });
  await picker.waitFor();
  await presses("Tab", /^pain on palpation: /);
  await saved(page, () => keyboard.press("2"));
  await page.getByRole("link", { name: `${second}: abnormal, grade 2` }).waitFor();
  await keyboard.press("Escape");
  await picker.waitFor({ state: "detached" });
  assert.ok((await name()).startsWith(`${second}: abnormal`), await name());

  await keyboard.press("Alt+l");
  assert.equal(await focused.getAttribute("id"), "line");
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
