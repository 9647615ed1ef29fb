// A picture that can be looked at closely: nearer, moved, lighter, harder, frame by frame.
//
// <figure>
//   <div class="pane"><img data-view="/address/of/the/picture" src="..." alt="what it shows"></div>
//   <form method="get">                                     the page itself, which renders the same picture
//     <input type="range" name="centre" min max step value> with <output for>; left out for colour
//     <input type="range" name="width" min max step value>  as well
//     <input type="number" name="frame" min="1" max value>  left out when there is one
//     <button>Show</button>
//   </form>
// </figure>
//
// Without script the form asks for the page again, with other values in its address. With it the fields ask for
// `data-view?centre=..&width=..&frame=..` by themselves, and a row of buttons stands under the picture. Whatever a
// wheel, two fingers or a pull can do, a button and a key can do too; the keys are for a pane that has the focus.
// The class `pane` has to hide what is larger than itself.

/** How much one step brings nearer, at most how near, how far one step moves, as shares. */
const STEP = 1.5, NEAREST = 16, MOVE = 0.2;
/** One step of lightness or hardness, as a share of the window's width. */
const TURN = 0.1;
/** Milliseconds that a slider has to rest before the server is asked. */
const REST = 120;

/** @param {HTMLImageElement} picture */
function view(picture) {
  const figure = picture.closest("figure");
  const [pane, form] = [picture.closest(".pane"), figure.querySelector("form")];
  const sheet = picture.closest("[data-sheet]") ?? picture; // with what is drawn over it
  const { centre, width, frame } = form.elements;
  const place = { scale: 1, x: 0, y: 0 };

  const lay = () => {
    const reach = (length) => (length * (place.scale - 1)) / 2;
    for (const [axis, length] of [["x", pane.clientWidth], ["y", pane.clientHeight]]) {
      place[axis] = Math.max(-reach(length), Math.min(reach(length), place[axis]));
    }
    sheet.style.transform = `translate(${place.x}px, ${place.y}px) scale(${place.scale})`;
    pane.style.touchAction = place.scale > 1 ? "none" : "pan-y";
  };
  /** Nearer by a factor, about a point of the window or about the middle. */
  const near = (factor, at) => {
    const box = pane.getBoundingClientRect();
    const [x, y] = at ? [at.x - box.x - box.width / 2, at.y - box.y - box.height / 2] : [0, 0];
    const scale = Math.max(1, Math.min(NEAREST, place.scale * factor));
    const by = scale / place.scale;
    Object.assign(place, { scale, x: x - (x - place.x) * by, y: y - (y - place.y) * by });
    lay();
  };
  const move = (x, y) => {
    place.x += x * MOVE * pane.clientWidth;
    place.y += y * MOVE * pane.clientHeight;
    lay();
  };
  const whole = () => { Object.assign(place, { scale: 1, x: 0, y: 0 }); lay(); };

  const ask = asking(picture, form);
  const set = (field, value) => { field.value = value; ask(); };
  const lighten = (turns) => set(centre, +centre.value - turns * TURN * width.value);
  const harden = (turns) => set(width, width.value * (1 - turns * TURN));
  const step = (by) => set(frame, Math.max(1, Math.min(+frame.max, +frame.value + by)));

  /** Words of a button, its keys, what it does, and a sign where that says as much in less room. */
  const acts = [
    ["Closer", ["+", "="], () => near(STEP), "+"],
    ["Further away", ["-"], () => near(1 / STEP), "\u2212"],
    ["Whole picture", ["0"], whole],
    ["Left", ["ArrowLeft"], () => move(1, 0), "\u2190"],
    ["Right", ["ArrowRight"], () => move(-1, 0), "\u2192"],
    ["Up", ["ArrowUp"], () => move(0, 1), "\u2191"],
    ["Down", ["ArrowDown"], () => move(0, -1), "\u2193"],
  ];
  if (centre && width) acts.push(["Lighter", ["l"], () => lighten(1)], ["Darker", ["d"], () => lighten(-1)], ["More contrast", ["h"], () => harden(1)], ["Less contrast", ["s"], () => harden(-1)]);
  if (frame) acts.push(["Frame before", ["PageUp"], () => step(-1)], ["Next frame", ["PageDown"], () => step(1)]);

  form.before(buttons(acts));
  pane.tabIndex = 0;
  pane.role = "group";
  pane.ariaLabel = "Picture; the keys of the buttons below work here";
  pane.addEventListener("keydown", (event) => {
    const act = !event.ctrlKey && !event.metaKey && !event.altKey && acts.find(([, keys]) => keys.includes(event.key));
    if (!act) return;
    event.preventDefault();
    act[2]();
  });
  // A page that is scrolled past the picture does not stop at it: the wheel is for a pane that has the focus.
  pane.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && document.activeElement !== pane) return;
    event.preventDefault();
    near(event.deltaY < 0 ? STEP ** 0.5 : STEP ** -0.5, event);
  }, { passive: false });
  fingers(pane, near, (x, y) => { place.x += x; place.y += y; lay(); });
  addEventListener("resize", lay);
  lay();
}

/**
 * Asks for the picture with what stands in the fields, once they rest. An older answer never covers a newer one.
 * @param {HTMLImageElement} picture @param {HTMLFormElement} form @returns {() => void}
 */
function asking(picture, form) {
  let rest, newest;
  const show = () => {
    const query = `?${new URLSearchParams([...new FormData(form)].filter(([, value]) => value !== ""))}`;
    const next = newest = new Image();
    next.addEventListener("load", () => {
      if (next !== newest) return;
      picture.src = next.src;
      if (!form.hasAttribute("action")) history.replaceState(history.state, "", query);
    });
    next.addEventListener("error", () => next === newest && say("This picture did not come: it stands as it was.", true));
    next.src = picture.dataset.view + query;
  };
  const ask = () => {
    for (const output of form.querySelectorAll("output")) output.value = form.elements[output.htmlFor.value]?.value ?? "";
    clearTimeout(rest);
    rest = setTimeout(show, REST);
  };
  form.addEventListener("input", ask);
  form.addEventListener("submit", (event) => { event.preventDefault(); event.stopPropagation(); ask(); });
  return ask;
}

/** The row of buttons, with their keys for who hovers and who listens. */
function buttons(acts) {
  const row = document.createElement("div");
  row.role = "toolbar";
  row.ariaLabel = "Look closer";
  for (const [words, keys, act, sign] of acts) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", textContent: sign ?? words, ariaLabel: words, title: `${words}, key ${keys[0]}`, onclick: act });
    button.setAttribute("aria-keyshortcuts", keys[0] === "+" ? "Plus" : keys[0]);
    row.append(button);
  }
  return row;
}

/**
 * One finger or the mouse moves, two fingers bring nearer.
 * @param {HTMLElement} pane @param {(factor: number, at: {x: number, y: number}) => void} near
 * @param {(x: number, y: number) => void} pull
 */
function fingers(pane, near, pull) {
  const down = new Map();
  const apart = () => { const [one, other] = down.values(); return Math.hypot(one.x - other.x, one.y - other.y); };
  pane.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    down.set(event.pointerId, { x: event.clientX, y: event.clientY });
    pane.setPointerCapture(event.pointerId);
  });
  pane.addEventListener("pointermove", (event) => {
    const last = down.get(event.pointerId);
    if (!last) return;
    const [x, y] = [event.clientX - last.x, event.clientY - last.y];
    const before = down.size === 2 ? apart() : 0;
    Object.assign(last, { x: event.clientX, y: event.clientY });
    if (before) near(apart() / before, last);
    else if (down.size === 1) pull(x, y);
  });
  for (const end of ["pointerup", "pointercancel"]) pane.addEventListener(end, (event) => down.delete(event.pointerId));
  pane.addEventListener("dragstart", (event) => event.preventDefault());
}

dressers.push(["[data-view]", view]);
