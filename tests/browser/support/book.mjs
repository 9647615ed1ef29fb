// The test's book of one visit against what the practice holds of it: every entry once, nothing besides, in the order
// of the hands and at their time.
import { says } from "./hands.mjs";
import { entries } from "./record.mjs";

/** A tablet's time put right may be off by what a send took on its way, in milliseconds: the tablet waits 20 s. */
const [EARLY, ON_THE_WAY] = [100, 21_000];

/** A row of the record in the book's words; null for what no hands on the exam have made. */
function read(row, rows) {
  if (row.kind === "signature") return null;
  const place = row.region && `${row.region}.${/^(FT|HT)_/.test(row.region) ? row.limb : row.side}`;
  const about = row.kind === "withdrawal" && rows.find((other) => other.id === row.about.replaceAll("-", ""));
  const answer = row.grade ?? row.value ?? row.number ?? (row.kind === "place" ? row.present : "");
  return says(row.who, row.kind, { place, limb: place ? "" : row.limb, code: row.code, answer, text: about ? read(about, rows) : row.text });
}

/** A visit's book. `acts` are written into it as the hands do them. */
export const book = (visit) => ({ visit, acts: [] });

/** @returns {Promise<{missing: string[], extra: string[], wrong: string[], held: number}>} */
export async function compare({ visit, acts }, data) {
  const rows = await entries(data, visit);
  const due = new Map();
  for (const act of acts) for (const entry of act.entries) due.set(entry, [...(due.get(entry) ?? []), act]);
  const [extra, wrong, last] = [[], [], new Map()];
  let held = 0;
  for (const row of rows) {
    const entry = read(row, rows);
    if (entry === null) continue;
    held += 1;
    const act = due.get(entry)?.shift();
    if (!act) {
      extra.push(`${entry}, late ${row.late}, seen ${new Date(row.seen_at - row.offset_ms).toISOString()}`);
      continue;
    }
    wrong.push(...faults(row, act, last.get(act.tablet)).map((fault) => `${where(act)}: ${entry} ${fault}`));
    last.set(act.tablet, { row, act });
  }
  const missing = [...due].flatMap(([entry, left]) => left.map((act) => `${where(act)}: ${entry}`));
  return { missing, extra, wrong, held };
}

const where = (act) => `round ${act.round} (${act.faults}), ${act.tablet}, ${act.name}`;

/** What is wrong with an entry that is there: its order among the others of its tablet, its time, how it came. */
function faults(row, act, before) {
  const found = [];
  if (before && before.act.number > act.number) found.push(`stands after ${before.act.name} of round ${before.act.round}, which the hands did later`);
  if (before && before.act.skew === act.skew && before.row.seen_at > row.seen_at) found.push("is older by the tablet's clock than what stands before it");
  const off = row.seen_at - row.offset_ms - act.from;
  if (off < -EARLY || off > act.until - act.from + ON_THE_WAY) found.push(`was seen ${off} ms after the hands began it, the tablet's clock being ${act.skew} ms off`);
  if (Boolean(row.late) !== act.late) found.push(act.late ? "is not marked late" : "is marked late");
  return found;
}

/** What stands of each question after all corrections must be the last word of the hands, alone. */
export async function standing({ visit }, data) {
  const rows = await entries(data, visit);
  const gone = new Set(rows.map((row) => row.corrects).filter(Boolean));
  const words = new Map();
  for (const row of rows) {
    if (!["finding", "vital"].includes(row.kind) && !(row.kind === "gait" && row.limb)) continue;
    const question = [row.kind, row.region, row.side, row.limb, row.code, row.late].join(" ");
    const all = words.get(question) ?? [];
    words.set(question, [...all, { seq: row.seq, stands: !gone.has(row.id) }]);
  }
  return [...words].filter(([, all]) => all.filter((one) => one.stands).length !== 1 || !all.at(-1).stands).map(([question, all]) => `${question}: ${JSON.stringify(all)}`);
}
