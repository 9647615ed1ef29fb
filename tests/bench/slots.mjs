// How long the best starts in the days of 30 vets over 14 days take: node tests/bench/slots.mjs, after a release build.
// The program's own start is measured with a day that is empty, and taken off. Fails above 100 ms.
import { spawnSync } from "node:child_process";

const PROGRAM = process.env.LIMBLEDGER ?? "target/release/limbledger";
const [VETS, DAYS, STOPS, ROUNDS, LIMIT_MS] = [30, 14, 8, 15, 100];

let seed = 11;
const dice = () => (seed = (seed * 48271) % 2147483647) / 2147483647;
const place = (name) => ({ name, lat: 46 + dice() / 2, lon: -30 + dice() / 2 });
const day = (n) => `2026-03-${String(n + 2).padStart(2, "0")}`;
const hour = (n) => `${String(n).padStart(2, "0")}:00`;

const stops = (date) => Array.from({ length: STOPS }, (_, n) => ({ place: place(`yard ${Math.floor(dice() * 200)}`), who: `horse ${n}`, from: `${date}T${hour(8 + n)}`, minutes: 30 }));
const days = Array.from({ length: DAYS }, (_, n) => day(n));
const vet = (n) => ({ name: `vet ${n}`, base: place("practice"), days: days.map((date) => ({ from: `${date}T08:00`, until: `${date}T18:00`, stops: stops(date) })) });
const asked = { now: `${day(0)}T07:00`, visit: { place: place("the yard"), minutes: 15 } };

function took(vets) {
  const input = JSON.stringify({ ...asked, vets, figures: { speed_kmh: 120, setup_min: 0, buffer_min: 0 } });
  const times = Array.from({ length: ROUNDS }, () => {
    const began = performance.now();
    const run = spawnSync(PROGRAM, ["compute", "slots"], { input });
    if (run.status !== 0) throw new Error(`${run.stderr}`);
    return [performance.now() - began, JSON.parse(run.stdout).starts.length];
  });
  times.sort((one, other) => one[0] - other[0]);
  return { ms: times[ROUNDS >> 1][0], starts: times[0][1] };
}

const [empty, full] = [took([]), took(Array.from({ length: VETS }, (_, n) => vet(n)))];
const ms = full.ms - empty.ms;
console.log(`${VETS} vets x ${DAYS} days x ${STOPS} stops: ${full.starts} starts in ${ms.toFixed(1)} ms (median of ${ROUNDS}; the program's start, ${empty.ms.toFixed(1)} ms, taken off)`);
process.exitCode = full.starts === 5 && ms < LIMIT_MS ? 0 : 1;
