// The clock of a block counts on; its instants and its words come from the practice.
"use strict";

const PHASES = ["early", "now", "late"];

/** The words that the practice has for so many minutes. */
function since(minutes) {
  const hours = Math.floor(minutes / 60), days = Math.floor(hours / 24);
  if (minutes < 180) return `${minutes} min`;
  if (!days) return `${hours} h ${minutes % 60} min`;
  return `${days === 1 ? "1 day" : `${days} days`} ${hours % 24} h`;
}

/** Sets minutes, phase and words of each clock. The script's clock may stand apart from the practice's by seconds. */
function tick() {
  for (const clock of document.querySelectorAll("[data-clock]")) {
    const [at, from, until] = [clock.dataset.clock, clock.dataset.from, clock.dataset.until].map(Date.parse);
    const now = Date.now();
    const phase = PHASES[Number(now >= from) + Number(now > until)];
    const words = clock.dataset[phase];
    clock.querySelector(".minutes").textContent = since(Math.max(0, Math.floor((now - at) / 60_000)));
    const line = clock.querySelector(".phase");
    if (line.textContent === words) continue;
    line.textContent = words;
    for (const one of [clock, clock.closest(".next-up")]) {
      if (!one) continue;
      PHASES.forEach((name) => one.classList.toggle(`clock-${name}`, name === phase));
    }
  }
}

tick();
setInterval(tick, 1000);
