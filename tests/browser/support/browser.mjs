// Chromium as a vet, a technician or the desk uses it: by touch on a tablet, by keys at the desk.
import { mkdir } from "node:fs/promises";
import { AxeBuilder } from "@axe-core/playwright";
import { chromium } from "playwright-core";

/** Landscape tablet, portrait tablet, phone. */
export const SIZES = [
  { name: "landscape", width: 1024, height: 768 },
  { name: "portrait", width: 820, height: 1180 },
  { name: "phone", width: 390, height: 844 },
];

const OUTPUT = new URL("../../output/", import.meta.url).pathname;

export function launch({ program, extra = [] } = {}) {
  return chromium.launch({
    executablePath: program ?? process.env.CHROMIUM ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      ...extra,
    ],
  });
}

/** Counts what hands do: taps, keys, and the characters typed into fields. */
const COUNTER = `(() => {
  const count = JSON.parse(sessionStorage.getItem("__count") ?? '{"taps":0,"keys":0}');
  const keep = () => sessionStorage.setItem("__count", JSON.stringify(count));
  addEventListener("pointerdown", () => { count.taps += 1; keep(); }, true);
  addEventListener("keydown", () => { count.keys += 1; keep(); }, true);
})()`;

/** A browser context of one size, with touch, that keeps what went wrong: console errors, foreign hosts. */
export async function visitor(browser, url, size, options = {}) {
  const context = await browser.newContext({
    viewport: { width: size.width, height: size.height },
    hasTouch: true,
    locale: "en-GB",
    ...options,
  });
  await context.addInitScript(COUNTER);
  const page = await context.newPage();
  const faults = [];
  const host = new URL(url).host;
  page.on("pageerror", (error) => faults.push(`script error: ${error.message}`));
  page.on("console", (message) => {
    if (message.type() === "error" && !/status of (4|5)\d\d/.test(message.text())) faults.push(message.text());
  });
  page.on("request", (request) => {
    const asked = new URL(request.url());
    if (asked.protocol.startsWith("http") && asked.host !== host) faults.push(`asks ${asked.host}`);
  });
  return { context, page, faults, url, size };
}

export async function signIn(visitor, person) {
  const { page, url } = visitor;
  await page.goto(`${url}/sign-in`);
  await page.getByLabel("Your name").fill(person.name);
  await page.getByLabel("Password", { exact: true }).fill(person.password);
  await page.getByRole("button", { name: "Sign in" }).click();
  await page.waitForURL((to) => !to.pathname.startsWith("/sign-in"));
}

/** Taps and keys since the last reset. */
export const counted = (page) => page.evaluate(() => JSON.parse(sessionStorage.getItem("__count") ?? '{"taps":0,"keys":0}'));
export const reset = (page) =>
  page.evaluate(() => sessionStorage.setItem("__count", '{"taps":0,"keys":0}')).then(() => page.reload());

/** Keeps a picture of the page as test output. */
export async function picture(visitor, name) {
  await mkdir(OUTPUT, { recursive: true });
  await visitor.page.screenshot({ path: `${OUTPUT}${name}-${visitor.size.name}.png`, fullPage: true });
}

/** What is wrong with the page as it stands: axe, sideways scrolling, small targets. Empty when all is well. */
export async function flaws(visitor) {
  const { page } = visitor;
  const { violations } = await new AxeBuilder({ page }).analyze();
  const found = violations.map((v) => `axe ${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 3).join(", ")}`);
  const sideways = await page.evaluate(
    () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
  );
  if (sideways > 1) found.push(`scrolls sideways by ${sideways} px`);
  return found;
}
