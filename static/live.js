// Several tablets on one exam: what others record shows within two seconds, and the practice knows how many entries
// wait on this one.
import { newest, owes, refresh } from "./exam.js";
import { account, device } from "./keys.js";
import { send, state, waiting } from "./queue.js";

const visit = location.pathname.split("/")[2];
const exam = `/visits/${visit}/exam`;
const headers = { Prefer: "return=minimal", "For-Account": account?.id ?? "" };
let number;
const SECOND = 1000;
/** Milliseconds after which a tablet says again that it is there. */
const THERE = 60 * SECOND;
/** After a failed report this long is waited. */
const PAUSE = 5 * SECOND;

/** Whether there is news, told by the practice in a few bytes. */
async function look() {
  const answer = await fetch(`${exam}/changes?after=${newest()}`, { headers, signal: AbortSignal.timeout(5 * SECOND) });
  // Any answer of the practice itself ends the wait for the next try, be it that the sign-in is over.
  if (state.stopped && (answer.ok || (state.stopped === "no connection" && answer.headers.has("Preference-Applied")))) send();
  if (answer.status === 200) await refresh();
}

let told = -1, toldAt = 0, count = 0;

/** @param {number} unsent @param {"yes" | "no"} open whether the exam stays open here */
const report = (unsent, open) =>
  fetch(`${exam}/unsent`, { method: "POST", keepalive: true, headers, body: new URLSearchParams({ device: number, unsent, open }) });

/** Whether it is time to say again how many wait. */
function due() {
  const since = Date.now() - toldAt;
  return since < 0 || since >= (count === told ? THERE : told < 0 ? PAUSE : SECOND);
}

async function tell() {
  number ??= await device();
  toldAt = Date.now();
  const now = count;
  try {
    told = (await report(now, "yes")).ok ? now : -1;
  } catch {
    told = -1;
  }
}

async function second() {
  try {
    count = await waiting(visit);
    if (due()) await tell();
    if (document.visibilityState === "visible" && (!count || state.stopped)) await look();
    if (owes()) await refresh();
  } catch {
    // No connection: the next second asks again.
  }
  setTimeout(second, SECOND);
}

// That nothing waits any more is told at once: whoever goes on to sign is not held up by the last entry.
document.addEventListener("queue", async () => {
  count = await waiting(visit);
  if (!count && told > 0) await tell();
});
addEventListener("pagehide", () => { if (number) report(count, "no").catch(() => {}); });
addEventListener("pageshow", (event) => { if (event.persisted) toldAt = 0; });
if (account) second();
