// What a pair of hands does on an exam, by real taps, and what each of it must come to in the record: the test's own
// book of the visit, kept without asking the program.

/** What an entry says, in one line: the same for what the hands did and for what the practice holds. */
export const says = (who, kind, { place = "", limb = "", code = "", answer = "", text = "" }) => [who, kind, place, limb, code, answer, text].join("|");

/** A gloved thumb bounces, so the page takes no second gesture for a moment. */
const BOUNCE = 800;
const LIMBS = ["LF", "RF", "LH", "RH"];
const LONG = { LF: "left fore", RF: "right fore", LH: "left hind", RH: "right hind" };
const SOON = { timeout: 1500 };

/** The sections of places as the page shows them: places to tap, and what each sweep would cover. */
export const sections = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll("section.part > details.fold")].map((fold) => ({
      id: fold.id,
      taps: [...fold.querySelectorAll("button.tap")].map((button) => button.value),
      sweeps: [...fold.querySelectorAll("button.sweep")].map((button) => ({ from: button.value, name: button.querySelector("b").textContent, places: button.dataset.places.split(" ") })),
    })),
  );

/**
 * @param {{page: object, who: string}} tablet `who` is the account's number as the record writes it
 * @param {{id: string, taps: string[], sweeps: object[]}} part the section that these hands work in
 * @param {{condition: string, vital: string}} own what only these hands record
 */
export function hands(tablet, part, own, dice) {
  const free = new Set(part.taps);
  const spoken = new Set();
  const sweeps = [...part.sweeps];
  const grades = new Map();
  let [swept, found, vital, notes, bounce] = [null, null, 0, 0, 0];
  const entry = (kind, said) => says(tablet.who, kind, said);
  const fresh = () => (notes += 1, `${tablet.name} says ${notes} of ${part.id} ${dice.below(1e6)}`);

  async function unfold(id) {
    const fold = tablet.page.locator(`#${id}`);
    const open = () => fold.evaluate((details) => details.open);
    // A tap opens it a little later, and closes what the page itself opened at that moment.
    while (!(await open())) {
      await fold.locator("> summary").tap();
      for (let wait = 0; wait < 10 && !(await open()); wait++) await tablet.page.waitForTimeout(100);
    }
  }
  /** Taps what a section holds, which the page may just be folding. */
  async function press(id, target, tries = 3) {
    await unfold(id);
    await target.tap(SOON).catch((fault) => (tries ? press(id, target, tries - 1) : Promise.reject(fault)));
  }
  async function gesture(tap) {
    await tablet.page.waitForTimeout(Math.max(0, bounce - Date.now()));
    await tablet.page.locator("body:not(.calm)").waitFor();
    await tap();
    bounce = Date.now() + BOUNCE;
  }
  /** The questions of the picker of a place. */
  const asks = (place) => tablet.page.locator(`#picker-${part.id}:has(input[name=place][value="${place}"]) > .ask:not(:has(input[name=aspect]))`);
  /** Opens the picker of a place, if it is not open; false when the practice does not give it. */
  async function pickerOf(place, weather) {
    await unfold(part.id);
    if (await asks(place).count()) return true;
    if (!weather.asks) return false;
    await tablet.page.locator(`.cell a[data-pick="${place}"]`).tap();
    return asks(place).first().waitFor(SOON).then(() => true, () => false);
  }
  const take = (place) => (free.delete(place), spoken.add(place), place);
  const other = (list, not) => dice.pick(list.filter((one) => one !== not));

  /** Each says when it can be done, and does it: the gesture and the entries that it must make. */
  const acts = {
    nothing: {
      can: () => free.size,
      do: async () => {
        const place = take(dice.pick([...free]));
        return [() => press(part.id, tablet.page.locator(`button.tap[value="${place}"]`)), [entry("place", { place, answer: false })]];
      },
    },
    finding: {
      can: ({ asks }) => free.size && asks,
      do: async (weather) => {
        const place = dice.pick([...free]);
        // While the practice is down no picker opens: then it is a plain tap.
        if (!(await pickerOf(place, weather))) return acts.nothing.do(weather);
        const offers = await asks(place).evaluateAll((all) => all.map((ask) => [...ask.querySelectorAll("button[name=found]")].map((button) => button.value).filter((value) => /:\d+$/.test(value))));
        const answers = dice.pick(offers.filter((values) => values.length > 2));
        if (!answers) return acts.nothing.do(weather);
        found = { place: take(place), answers, last: "" };
        return acts.again.do(weather);
      },
    },
    again: {
      can: () => found,
      do: async (weather) => {
        const { place, answers, last } = found;
        if (!(await pickerOf(place, weather))) {
          found = null;
          return acts.grade.do(weather);
        }
        found.last = other(answers, last);
        const [code, answer] = found.last.split(":");
        const button = asks(place).locator(`button[name=found][value="${found.last}"]`);
        return [() => button.tap(), [entry("finding", { place, code, answer })]];
      },
    },
    sweep: {
      can: () => sweeps.length > own.spare && sweeps[0].places.filter((place) => !spoken.has(place)).length > 1,
      do: async () => {
        const sweep = sweeps.shift();
        const covered = sweep.places.filter((place) => !spoken.has(place));
        covered.forEach(take);
        swept = { name: sweep.name, covered };
        return [() => gesture(() => press(part.id, tablet.page.locator(`button.sweep[value="${sweep.from}"]`))), covered.map((place) => entry("place", { place, answer: false }))];
      },
    },
    undo: {
      can: () => swept,
      do: async () => {
        const { name, covered } = swept;
        swept = null;
        covered.forEach((place) => spoken.delete(place));
        const button = tablet.page.getByRole("button", { name: new RegExp(`^Undo: (nothing found, ${LONG[name]}|${name} nothing found)`) });
        return [() => press(part.id, button.first()), covered.map((place) => entry("withdrawal", { text: entry("place", { place, answer: false }) }))];
      },
    },
    grade: {
      can: () => true,
      do: async () => {
        const limb = dice.pick(LIMBS);
        const grade = other([0, 1, 2, 3], grades.get(limb));
        grades.set(limb, grade);
        return [() => press("gait", tablet.page.locator(`#gait-${own.condition} button[value="${limb}:${grade}"]`)), [entry("gait", { limb, code: own.condition, answer: grade })]];
      },
    },
    level: {
      can: () => grades.size < 4,
      do: async () => {
        const open = LIMBS.filter((limb) => !grades.has(limb));
        for (const limb of open) grades.set(limb, 0);
        return [() => press("gait", tablet.page.locator(`#gait-${own.condition} button[value="level:"]`)), open.map((limb) => entry("gait", { limb, code: own.condition, answer: 0 }))];
      },
    },
    vitals: {
      can: () => true,
      do: async () => {
        vital = other([30, 32, 34, 36, 38, 40], vital);
        const save = async () => {
          await unfold("vitals");
          await tablet.page.locator(`#vitals-form input[name=${own.vital}]`).fill(String(vital));
          await press("vitals", tablet.page.getByRole("button", { name: "Save vital signs" }));
        };
        return [() => gesture(save), [entry("vital", { code: own.vital, answer: vital })]];
      },
    },
    gaitNote: {
      can: () => true,
      do: async () => {
        const text = fresh();
        await unfold("gait");
        const form = tablet.page.locator(`#gait-${own.condition}`);
        const save = async () => {
          if (!(await form.locator("details.fold").evaluate((fold) => fold.open))) await form.locator("details.fold > summary").tap();
          await form.locator("textarea").fill(text);
          await form.getByRole("button", { name: "Save this note" }).tap();
        };
        return [save, [entry("gait", { code: own.condition, text })]];
      },
    },
    line: {
      can: ({ dark }) => dark,
      do: async () => {
        const text = fresh();
        const say = async () => {
          await tablet.page.locator("#line").fill(text);
          await tablet.page.locator("#line").press("Enter");
        };
        return [say, [entry("note", { answer: "not_read", text })]];
      },
    },
  };

  const MIX = { nothing: 6, finding: 4, again: 3, sweep: 1, undo: 1, grade: 3, level: 1, vitals: 2, gaitNote: 2, line: 2 };
  const deck = Object.entries(MIX).flatMap(([name, many]) => Array(many).fill(name));

  return {
    /** One act: waits until the page has it safe, and gives what it must come to. @param {{dark: boolean, asks: boolean}} weather
     * dark: nothing passes; asks: the practice gives pages, so that a picker can be opened */
    async act(weather, name = dice.pick(deck.filter((one) => acts[one].can(weather)))) {
      const [tap, entries] = await acts[name].do(weather);
      const before = await tablet.page.evaluate(() => window.__kept);
      const from = Date.now();
      await tap();
      await tablet.page.waitForFunction((count) => window.__kept > count, before, { timeout: 20_000 }).catch(async () => {
        const [says, last] = await Promise.all([tablet.page.locator("#saved, #status").allInnerTexts(), tablet.page.evaluate(() => window.__last.join("\n"))]);
        throw new Error(`${tablet.name}: ${name} (${entries.join(", ")}) was tapped and not kept; the page says: ${says}; before that:\n${last}`);
      });
      return { name, entries, from, until: Date.now() };
    },
    can: (name, weather) => acts[name].can(weather),
    /** A last sweep is left for when the visit is signed. */
    spend: () => (own.spare = 0),
    /** What was open is gone with the page. */
    reloaded: () => (found = null),
  };
}

/** Each thing of the page that is kept counts, and each that is refused, and what happened last is told when a tap comes
 * to nothing; put into every page before its own scripts. */
export const WATCH = `
  window.__kept = 0;
  window.__refused = [];
  window.__last = [];
  const tell = (type, about) => window.__last.push(Math.round(performance.now()) + " " + type + " " + about) > 30 && window.__last.shift();
  tell("page", location.href);
  for (const type of ["pointerdown", "pointercancel", "click", "submit", "renewed", "load", "pagehide"])
    addEventListener(type, ({ target, submitter }) => tell(type, (submitter ?? target).outerHTML?.slice(0, 90).replace(/\\s+/g, " ") ?? ""), true);
  document.addEventListener("queue", ({ detail }) => {
    if (detail.state === "here" && detail.item?.url) window.__kept += 1;
    if (detail.state === "refused") window.__refused.push(detail.item?.why);
    tell("queue", detail.state + " " + (detail.item?.words ?? ""));
  });`;
