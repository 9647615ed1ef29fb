// Chance that can be had again: the same seed throws the same dice.

/** The seed of this run: `SEED=` of the environment, else a fresh one. */
export const seed = Number(process.env.SEED ?? Math.floor(Math.random() * 2 ** 31));

/** Dice from a number (mulberry32). */
export function dice(from) {
  let state = from >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  const below = (n) => Math.floor(next() * n);
  return {
    below,
    chance: (share) => next() < share,
    pick: (list) => list[below(list.length)],
    /** Dice of their own for one part of the run, so that its throws do not depend on the others. */
    fork: () => dice(Math.floor(next() * 2 ** 32)),
  };
}
