// What nobody should type, into every form that a role can reach: the answer is a page of ours, no script runs, and
// what was typed is still there or stands inert where it was stored.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { SIZES, comes, launch, leave } from "../support/browser.mjs";
import { beginExam } from "../support/exam.mjs";
import { demo } from "../support/server.mjs";

const [LANDSCAPE] = SIZES;
const ODD = {
  "10,000 characters": "x".repeat(10_000),
  "control characters": "a\u0007b\u001b[2Jc",
  markup: `"><img src=x onerror=alert(1)><script>alert(2)</script>`,
  "emoji and right to left": "\u{1F434}\u{1F9B4} \u202E\u0645\u0631\u062D\u0628\u0627 \u05E9\u05DC\u05D5\u05DD",
  "a date that does not exist": "31 Feb 2026",
};

let browser, server;
before(async () => {
  [server, browser] = await Promise.all([demo(), launch()]);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** The fields that hold words. */
const TYPED = "input:not([type]), input[type=text], input[type=search], input[type=tel], input[type=email], input[type=password], textarea";

/** The forms on the page that send something and can be typed into: their actions, in order, once each. */
const forms = (page) =>
  page.evaluate((typed) => {
    const all = [...document.querySelectorAll("form[method=post]")];
    return [...new Set(all.filter((f) => f.querySelector(typed)).map((f) => f.getAttribute("action")))];
  }, TYPED);

/** Fills every text field of one form with `words` and sends it, as the plain form that it is. */
const send = (page, action, words) =>
  page.evaluate(
    ([action, words, typed]) => {
      const all = [...document.querySelectorAll("form[method=post]")];
      const form = all.find((f) => f.getAttribute("action") === action && f.querySelector(typed));
      for (const field of form.querySelectorAll(typed)) field.value = words;
      HTMLFormElement.prototype.submit.call(form);
    },
    [action, words, TYPED],
  );

/** Sends each odd thing into each form of the page at `path`. */
async function press(someone, path, seen) {
  const { page, url, faults } = someone;
  await page.goto(url + path);
  for (const action of await forms(page)) {
    if (seen.has(action)) continue;
    seen.add(action);
    for (const [name, words] of Object.entries(ODD)) {
      if ((await page.goto(url + path)).status() !== 200) break;
      // What was taken may have closed its form.
      if (!(await forms(page)).includes(action)) break;
      const answered = page.waitForNavigation();
      await send(page, action, words);
      const status = (await answered)?.status();
      const where = `${name} into ${action} of ${path}`;
      if (![200, 400, 404, 409, 422, 429].includes(status)) faults.push(`${where}: ${status}`);
      if (status === 422) {
        const told = await page.locator(".error, .errors").count();
        if (!told) faults.push(`${where}: refused without a word`);
        const kept = await page.evaluate((w) => [...document.querySelectorAll("input, textarea")].some((f) => f.value === w), words);
        const secret = await page.evaluate(() => Boolean(document.querySelector("input[type=password]")));
        if (!kept && !secret) faults.push(`${where}: what was typed is gone`);
      }
      if (await page.locator("img[src=x]").count()) faults.push(`${where}: markup came alive`);
    }
  }
}

test("a veterinarian's forms", async () => {
  const vet = await comes(browser, server.url, LANDSCAPE, server.people.vet[0]);
  await beginExam(vet, "Tarrow Gate");
  const visit = new URL(vet.page.url()).pathname.replace(/\/exam$/, "");
  const seen = new Set();
  for (const path of [visit, `${visit}/complaints`, `${visit}/move`, `${visit}/exam/vitals`, `${visit}/exam/standing`, `${visit}/exam/gait`, `${visit}/exam/flexion`, `${visit}/exam/neuro`, `${visit}/assessment`, `${visit}/sign`]) {
    await press(vet, path, seen);
  }
  assert.ok(seen.size >= 8, `only ${[...seen]}`);
  await leave(vet);
});

test("the desk's forms", async () => {
  const desk = await comes(browser, server.url, LANDSCAPE, server.people.desk[0]);
  const first = async (path, shape) => {
    await desk.page.goto(server.url + path);
    return desk.page.locator(`main a[href^='${shape}']:not([href$='new'])`).first().getAttribute("href");
  };
  const [client, yard, horse] = [await first("/clients", "/clients/"), await first("/yards", "/yards/"), await first("/horses", "/horses/")];
  const seen = new Set();
  for (const path of ["/clients/new", `${client}/edit`, "/yards/new", `${yard}/edit`, "/horses/new", `${horse}/edit`, `${horse}/weights`, `${horse}/status`, `/call?horse=${horse.split("/").pop()}`, "/follow-ups", "/me"]) {
    await press(desk, path, seen);
  }
  assert.ok(seen.size >= 9, `only ${[...seen]}`);
  await leave(desk);
});

test("the owner's forms", async () => {
  const owner = await comes(browser, server.url, LANDSCAPE, server.people.owner[0]);
  const seen = new Set();
  for (const path of ["/practice", "/practice/staff"]) await press(owner, path, seen);
  assert.ok(seen.size >= 2, `only ${[...seen]}`);
  await leave(owner);
});
