// Marks on a picture by tapping it. What a mark means and what marks give is reckoned by the server, which renders the
// same page for whoever types the places: this puts a place into its field, draws it at once, and asks.
//
// <figure> <div class="pane"> <div data-sheet> <img> <svg id="overlay" viewBox="0 0 columns rows" data-reach> ...
// <form id="marks"> a radio `next` for each mark, with a field `point-NAME` or `outline-NAME` that holds its place

const SVG = "http://www.w3.org/2000/svg";
/** A finger that moves farther, in pixels of the screen, pulls the picture. */
const STILL = 8;
/** Milliseconds that marks have to rest before the server is asked. */
const REST_OF_MARKS = 150;
const REGIONS = "#marking,#overlay";

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
  const radios = [...marksForm().querySelectorAll("input[name=next]")];
  const from = radios.findIndex((radio) => radio.value === chosen);
  const after = [...radios.slice(from + 1), ...radios.slice(0, from)];
  const free = after.find((radio) => !marksForm().elements[`point-${radio.value}`]?.value);
  if (!free) return;
  free.checked = true;
  showNext();
}

/** What is tapped next stands beside the picture. */
function showNext() {
  const radio = marksForm().querySelector("input[name=next]:checked");
  document.querySelector("#next-mark b").textContent = radio?.parentElement.innerText.trim() ?? "";
}

let restOfMarks;
function asked() {
  clearTimeout(restOfMarks);
  restOfMarks = setTimeout(() => reckon(), REST_OF_MARKS);
}

/** Asks for the page with what stands in the form. @param {HTMLButtonElement} [button] */
async function reckon(button, regions = REGIONS) {
  clearTimeout(restOfMarks);
  const fields = new FormData(marksForm(), button);
  fields.delete("submission");
  const url = `${location.pathname}?${new URLSearchParams(fields)}`;
  if (!(await turn(regions, url))) say("No connection: the marks stand, they are reckoned later.", true);
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
  form.addEventListener("change", ({ target }) => {
    if (target.name === "next") showNext();
    else if (target.closest("[data-asks]")) reckon(undefined, `${REGIONS},#asks`);
    else if (/^(point|outline)-/.test(target.name)) reckon();
  });
  // The buttons that ask leave the picture as it is laid.
  form.addEventListener("submit", (event) => {
    if (event.submitter?.getAttribute("formmethod") !== "get") return;
    event.preventDefault();
    event.stopPropagation();
    reckon(event.submitter);
  });
}

dressers.push(["#marks", measuring]);
