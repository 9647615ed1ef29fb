// Chromium as a vet, a technician or the desk uses it: by touch on a tablet, by keys at the desk.
import assert from "node:assert/strict";
import { mkdir } from "node:fs/promises";
import { chromium } from "playwright-core";
import { axe, flaws } from "./flaws.mjs";

export { flaws };

/** Landscape tablet, portrait tablet, phone. */
export const SIZES = [
  { name: "landscape", width: 1024, height: 768 },
  { name: "portrait", width: 820, height: 1180 },
  { name: "phone", width: 390, height: 844 },
];
export const [LANDSCAPE, PORTRAIT, PHONE] = SIZES;

const OUTPUT = new URL("../../output/", import.meta.url).pathname;

const how = ({ program, extra = [] }) => ({
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

export const launch = (options = {}) => chromium.launch(how(options));

/** A tablet that is switched off and on: what its browser keeps stays in the folder. */
export async function switchedOn(folder, url, size, options) {
  const context = await chromium.launchPersistentContext(folder, {
    ...how(options),
    viewport: { width: size.width, height: size.height },
    hasTouch: true,
    locale: "en-GB",
  });
  context.setDefaultTimeout(15_000);
  return { context, page: context.pages()[0] ?? (await context.newPage()), faults: [], url, size };
}

/** Counts what hands do: taps, keys, and the characters among the keys. Kept over page loads. */
const COUNTER = `(() => {
  const none = { taps: 0, keys: 0, characters: 0 };
  const add = (what) => {
    const count = JSON.parse(sessionStorage.getItem("__count")) ?? { ...none };
    for (const one of what) count[one] += 1;
    sessionStorage.setItem("__count", JSON.stringify(count));
  };
  addEventListener("pointerdown", () => add(["taps"]), true);
  addEventListener("keydown", (event) => add(event.key.length === 1 ? ["keys", "characters"] : ["keys"]), true);
})()`;

/** A browser context of one size, with touch, that keeps what went wrong: scripts, policy, dialogs, foreign hosts, 5xx. */
export async function visitor(browser, url, size, options = {}) {
  const context = await browser.newContext({
    viewport: { width: size.width, height: size.height },
    hasTouch: true,
    locale: "en-GB",
    ...options,
  });
  context.setDefaultTimeout(10_000);
  await context.addInitScript(COUNTER);
  const page = await context.newPage();
  const faults = [];
  const host = new URL(url).host;
  const where = () => new URL(page.url()).pathname;
  page.on("pageerror", (error) => faults.push(`${where()}: script error: ${error.message}`));
  page.on("console", (message) => {
    if (message.type() === "error" && !/status of 4\d\d/.test(message.text())) faults.push(`${where()}: ${message.text()}`);
  });
  page.on("dialog", (dialog) => {
    faults.push(`${where()}: a dialog: ${dialog.message()}`);
    return dialog.dismiss();
  });
  page.on("request", (request) => {
    const asked = new URL(request.url());
    if (asked.protocol.startsWith("http") && asked.host !== host) faults.push(`${where()}: asks ${asked.host}`);
  });
  page.on("response", (answer) => {
    if (answer.status() >= 500) faults.push(`${answer.request().method()} ${answer.url()}: ${answer.status()}`);
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

/** A visitor who is signed in. */
export async function comes(browser, url, size, person, options = {}) {
  const someone = await visitor(browser, url, size, options);
  await signIn(someone, person);
  return someone;
}

/** Taps, keys and characters since the last reset. */
export const counted = (page) => page.evaluate(() => JSON.parse(sessionStorage.getItem("__count")) ?? { taps: 0, keys: 0, characters: 0 });
export const reset = (page) => page.evaluate(() => sessionStorage.removeItem("__count"));

/** Keeps a picture of the page as test output, where somebody will look at it. */
export async function picture(visitor, name) {
  if (process.env.PICTURES === "none") return;
  await mkdir(OUTPUT, { recursive: true });
  await visitor.page.screenshot({ path: `${OUTPUT}${name}-${visitor.size.name}.png`, fullPage: true });
}

/** Looks hard at the page that is open: keeps a picture, and every flaw among the visitor's faults. */
export async function look(visitor, name, { dark = false } = {}) {
  const { page, faults, size } = visitor;
  const note = (found) => faults.push(...found.map((flaw) => `${name}, ${size.name}: ${flaw}`));
  note(await flaws(visitor));
  await picture(visitor, name);
  if (!dark) return;
  await page.emulateMedia({ colorScheme: "dark" });
  // In the dark nothing changes but colours.
  note((await axe(page, "color-contrast", "link-in-text-block")).map((flaw) => `dark ${flaw}`));
  await picture(visitor, `${name}-dark`);
  await page.emulateMedia({ colorScheme: "light" });
}

/** The end of a journey: nothing went wrong on any page of it. */
export async function leave(...visitors) {
  const faults = visitors.flatMap((one) => one.faults);
  await Promise.all(visitors.map((one) => one.context.close()));
  assert.deepEqual([...new Set(faults)], []);
}
