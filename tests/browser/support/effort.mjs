// The keystroke-level model: seconds that a practised hand needs, here and with a pen. No measurement of people; it
// compares two ways of saying the same.

// Card, Moran and Newell, "The keystroke-level model for user performance time", 1980: a decision (M), and bringing the
// hand to a spot (P).
const DECISION = 1.35;
const REACH = 1.1;
// A tap on a tablet, measured: doi 10.1016/j.apergo.2016.06.004.
const TAP = 0.57;
// A character on a screen keyboard, from memory: 25 to 36 words a minute.
const TYPED = 0.4;
// A character by hand, from memory: 31 words a minute of what one knows.
const WRITTEN = 0.39;
// The stroke of a tick, from memory; it is made after a reach.
const STROKE = 0.25;

/** @param {{taps: number, keys: number, decisions: number}} done */
export const onTheTablet = ({ taps, keys, decisions }) => TAP * taps + TYPED * keys + DECISION * decisions;

/** A printed form with a box for everything that is one tap here. @param {{ticks: number, fields: number, characters: number, decisions: number}} done */
export const onPaper = ({ ticks, fields, characters, decisions }) =>
  (REACH + STROKE) * ticks + REACH * fields + WRITTEN * characters + DECISION * decisions;

/** Typing the sheet up afterwards: Card, Moran and Newell's average typist, a reach and a decision for each line. */
export const typedUp = ({ lines, characters }) => 0.28 * characters + (REACH + DECISION) * lines;
