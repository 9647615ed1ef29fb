// Clocks for what is held and waited for. A button starts one: `data-timer` is its key, `data-label` what it times,
// `data-target` the seconds to reach, `data-fills` the field that gets them. It runs on through reloads, and stands
// where the thumb is, over the line at the bottom.
const visit = location.pathname.split("/")[2];
const STORE = `clocks ${visit}`;
const SECOND = 1000;

let clocks = {};
try {
  clocks = JSON.parse(localStorage.getItem(STORE)) ?? {};
} catch { /* a browser that keeps nothing times until the page is left */ }

function keep() {
  try {
    if (Object.keys(clocks).length) localStorage.setItem(STORE, JSON.stringify(clocks));
    else localStorage.removeItem(STORE);
  } catch { /* as above */ }
}

const seconds = (clock) => Math.floor(((clock.stopped ?? Date.now()) - clock.started) / SECOND);
const words = (count) => `${Math.floor(count / 60)}:${String(count % 60).padStart(2, "0")}`;

function make(tag, own, ...children) {
  const element = Object.assign(document.createElement(tag), own);
  element.append(...children);
  return element;
}

/** Puts what was held into its field, when the page has it and nothing stands there. */
function fill(key) {
  const clock = clocks[key];
  const field = clock.stopped && clock.fills && document.getElementById(clock.fills);
  if (!field) return;
  field.value = seconds(clock);
  field.dispatchEvent(new Event("input", { bubbles: true }));
  delete clocks[key];
  keep();
  say(`${clock.label}: ${field.value} seconds.`);
}

function stop(key) {
  const clock = clocks[key];
  if (!clock) return;
  clock.stopped = Date.now();
  fill(key);
  if (clocks[key] && !clock.fills) {
    delete clocks[key];
    say(`${clock.label}: ${words(seconds(clock))}.`);
  }
  keep();
  show();
}

function start({ timer, label, target, fills }) {
  clocks[timer] = { label, fills, target: Number(target), started: Date.now() };
  keep();
  show();
}

/** One line for each clock: what it times, how long, and the one button. */
function line(key) {
  const clock = clocks[key];
  const time = make("span", { className: "time", role: "timer", ariaLive: "off" });
  time.dataset.clock = key;
  const button = make("button", { type: "button" }, "Stop", make("span", { className: "away" }, ` the clock: ${clock.label}`));
  button.addEventListener("click", () => stop(key));
  return make("div", { className: "clock" }, make("b", {}, clock.label), time, button);
}

function show() {
  const running = Object.keys(clocks).filter((key) => !clocks[key].stopped);
  const strip = document.getElementById("clocks") ?? make("div", { id: "clocks", role: "group", ariaLabel: "Clocks" });
  strip.replaceChildren(...running.map(line));
  if (!running.length) return strip.remove();
  if (!strip.isConnected) document.getElementById("line-box")?.prepend(strip);
  if (!strip.isConnected) document.body.append(strip);
  tick();
}

/** The time in sight each second; aloud once, when it is reached. */
function tick() {
  for (const time of document.querySelectorAll("[data-clock]")) {
    const clock = clocks[time.dataset.clock];
    const now = seconds(clock);
    time.textContent = clock.target ? `${words(now)} of ${words(clock.target)}` : words(now);
    if (!clock.target || clock.told || now < clock.target) continue;
    clock.told = true;
    keep();
    time.closest(".clock").classList.add("reached");
    say(`${clock.label}: ${words(clock.target)} reached.`);
    navigator.vibrate?.(300);
  }
}

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-timer]");
  if (!button) return;
  const key = button.dataset.timer;
  if (clocks[key] && !clocks[key].stopped) stop(key);
  else start(button.dataset);
});
document.addEventListener("renewed", () => Object.keys(clocks).forEach(fill));
document.documentElement.classList.add("clocked");
setInterval(tick, SECOND / 4);
show();
Object.keys(clocks).forEach(fill);
