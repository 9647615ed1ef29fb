// Marks on a picture by tapping it. What a mark means and what marks give is reckoned by the server, which renders the
// same page for whoever types the places: this puts a place into its field, draws it at once, and asks.
//
// <figure> <div class="pane"> <div data-sheet> <img> <svg id="overlay" viewBox="0 0 columns rows" data-reach> ...
// a radio `next` for each mark; <form id="marks"> with a field `point-NAME` or `outline-NAME` that holds its place

const SVG = "http://www.w3.org/2000/svg";
/** A finger that moves farther, in pixels of the screen, pulls the picture. */
const STILL = 8;
/** Milliseconds that marks have to rest before the server is asked. */
const REST_OF_MARKS = 150;
const REGIONS = "#marking,#overlay,#reckoned,#places";

const marksForm = () => document.getElementById("marks");
const drawn = () => document.getElementById("overlay");

/** Where a point of the screen lies on the picture, in its pixels; null beside it. */
function place({ clientX, clientY }) {
  const box = drawn().getBoundingClientRect();
  const { width, height } = drawn().viewBox.baseVal;
  const by = Math.min(box.width / width, box.height / height);
  const x = (clientX - box.x - (box.width - width * by) / 2) / by;
  const y = (clientY - box.y - (box.height - height * by) / 2) / by;
  const fine = (pixels) => Math.round(pixels * 10) / 10;
  return x >= 0 && y >= 0 && x <= width && y <= height ? [fine(x), fine(y)] : null;
}

/** A cross until the server has drawn the mark with its name. */
function sketch([x, y]) {
  const reach = +drawn().dataset.reach;
  const cross = document.createElementNS(SVG, "path");
  cross.setAttribute("d", `M${x - reach} ${y}h${2 * reach}M${x} ${y - reach}v${2 * reach}`);
  drawn().append(cross);
}

/** Puts a mark where the picture was tapped, and goes on to the next that is free. */
function mark(at) {
  const chosen = marksForm().elements.next.value;
  const point = marksForm().elements[`point-${chosen}`];
  const outline = marksForm().elements[`outline-${chosen}`];
  if (outline) outline.value = `${outline.value} ${at}`.trim();
  else if (point) point.value = `${at}`;
  else return;
  sketch(at);
  if (point) goOn(chosen);
  asked();
}

function goOn(chosen) {
  const radios = [...marksForm().elements.next];
  const from = radios.findIndex((radio) => radio.value === chosen);
  const after = [...radios.slice(from + 1), ...radios.slice(0, from)];
  const free = after.find((radio) => !marksForm().elements[`point-${radio.value}`]?.value);
  if (!free) return;
  free.checked = true;
  showNext();
}

/** What is tapped next stands beside the picture. */
function showNext() {
  const radio = [...marksForm().elements.next].find((one) => one.checked);
  document.querySelector("#next-mark b").textContent = radio?.dataset.words ?? "";
}

let restOfMarks;
function asked() {
  clearTimeout(restOfMarks);
  restOfMarks = setTimeout(() => reckon(), REST_OF_MARKS);
}

let underWay = false;
/** What was pressed or changed while an answer was on its way: it is asked for after it. */
let later;

/**
 * Asks for the page with what stands in the form; one answer at a time, so that none covers what came after it.
 * @param {string[]} [pressed] name and value of a button @param {string} [regions]
 */
async function reckon(pressed, regions = REGIONS) {
  clearTimeout(restOfMarks);
  if (underWay) {
    later = { pressed: pressed ?? later?.pressed, regions: later?.regions.length > regions.length ? later.regions : regions };
    return;
  }
  underWay = true;
  const fields = new FormData(marksForm());
  fields.delete("submission");
  if (pressed) fields.append(...pressed);
  const came = await turn(regions, `${location.pathname}?${new URLSearchParams(fields)}`);
  underWay = false;
  if (!came) say("No connection: the marks stand, they are reckoned later.", true);
  const next = later;
  later = undefined;
  if (next) reckon(next.pressed, next.regions);
}

/** @param {HTMLElement} pane */
function tapped(pane) {
  let down;
  pane.addEventListener("pointerdown", (event) => { down = event; });
  pane.addEventListener("click", (event) => {
    if (!down || Math.hypot(event.clientX - down.clientX, event.clientY - down.clientY) > STILL) return;
    const at = place(event);
    if (at) mark(at);
  });
}

/** @param {HTMLFormElement} form */
function measuring(form) {
  tapped(document.querySelector(".measure .pane"));
  const figure = document.querySelector(".measure figure form");
  figure.addEventListener("input", ({ target }) => {
    if (form.elements[target.name]) form.elements[target.name].value = target.value;
  });
  // The marks stand under the picture, outside the form that they belong to.
  document.addEventListener("change", ({ target }) => {
    if (target.form !== form) return;
    if (target.name === "next") showNext();
    else if (target.closest("[data-asks]")) reckon(undefined, `${REGIONS},#asks`);
    else if (/^(point|outline)-/.test(target.name)) reckon();
  });
  // The buttons that ask leave the picture as it is laid.
  form.addEventListener("submit", (event) => {
    if (event.submitter?.getAttribute("formmethod") !== "get") return;
    event.preventDefault();
    event.stopPropagation();
    const { name, value } = event.submitter;
    reckon(name ? [name, value] : undefined);
  });
}

dressers.push(["#marks", measuring]);
