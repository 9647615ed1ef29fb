// What is wrong with a page as it stands: for eyes, thumbs and screen readers.
import axeCore from "axe-core";

/** Our rule is WCAG 2.5.5: 44 CSS px. A phone gets the floor of 2.5.8: 24. */
const THUMB = 44;
const FLOOR = 24;

/** Empty when all is well. */
export async function flaws({ page, size }) {
  return [...(await axe(page)), ...(await sideways(page)), ...(await smallTargets(page, size))];
}

/** Violations of every impact; of the rules that are named, where not all of them are asked. */
export async function axe(page, ...rules) {
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(`${axeCore.source};0`);
  const only = rules.length ? { runOnly: rules } : {};
  const { violations } = await page.evaluate((only) => axe.run(document, { resultTypes: ["violations"], ...only }), only);
  return violations.map(({ id, nodes }) => `axe ${id} (${nodes.length}): ${nodes.slice(0, 3).map((n) => n.html.slice(0, 140)).join(" | ")}`);
}

async function sideways(page) {
  const by = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  return by > 1 ? [`scrolls sideways by ${by} px`] : [];
}

/** Targets smaller than a thumb: a control counts with its label; links inside a sentence are excepted, as WCAG does. */
async function smallTargets(page, size) {
  const least = size.name === "phone" ? FLOOR : THUMB;
  return page.evaluate(
    ([least, floor]) => {
      // A link whose ::after is laid over its line is as large as the line.
      const covered = (element) => (getComputedStyle(element, "::after").position === "absolute" ? element.closest("li, tr, td") : null);
      const box = (element) => {
        const all = [element, covered(element), ...(element.labels ?? [])].filter(Boolean).map((one) => one.getBoundingClientRect()).filter((r) => r.width && r.height);
        if (!all.length) return null;
        const [left, top] = [Math.min(...all.map((r) => r.left)), Math.min(...all.map((r) => r.top))];
        return { width: Math.max(...all.map((r) => r.right)) - left, height: Math.max(...all.map((r) => r.bottom)) - top };
      };
      const insideASentence = (element) => {
        if (element.tagName !== "A" || getComputedStyle(element).display !== "inline") return false;
        const around = element.closest("p, dd, td, li, h1, h2, h3, figcaption") ?? element.parentElement;
        return around.innerText.trim().length > element.innerText.trim().length;
      };
      const small = [];
      for (const element of document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")) {
        if (!element.checkVisibility({ visibilityProperty: true }) || element.matches(".skip")) continue;
        const size = box(element);
        if (!size || insideASentence(element)) continue;
        const wanted = element.closest("svg") ? floor : least;
        if (size.width < wanted - 0.5 || size.height < wanted - 0.5) {
          const name = element.getAttribute("aria-label") || element.innerText || element.labels?.[0]?.innerText || element.name;
          small.push(`small target ${element.tagName.toLowerCase()} "${String(name).trim().slice(0, 40)}" ${Math.round(size.width)}x${Math.round(size.height)}`);
        }
      }
      return [...new Set(small)].slice(0, 12);
    },
    [least, FLOOR],
  );
}
