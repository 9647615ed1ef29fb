// Search fields that answer while one types.

/**
 * Results while typing: `data-search="#results"` names the list of links in the form's own GET page.
 * Arrows choose, Enter opens, Escape clears. @param {HTMLInputElement} input
 */
function search(input) {
  const list = () => document.querySelector(input.dataset.search);
  let wait, running, at;
  const options = () => [...list().querySelectorAll("a")];
  const dress = () => {
    at = -1;
    list().role = "listbox";
    list().ariaLabel = "Results";
    for (const item of list().children) item.role = "presentation";
    options().forEach((link, n) => {
      link.id ||= `${input.id}-${n}`;
      link.role = "option";
      link.ariaSelected = "false";
      link.tabIndex = -1;
    });
    input.ariaExpanded = String(options().length > 0);
    input.removeAttribute("aria-activedescendant");
  };
  const look = async () => {
    running?.abort();
    running = new AbortController();
    const url = new URL(input.form.action);
    url.search = new URLSearchParams(new FormData(input.form));
    try {
      const answer = await fetch(url, { signal: running.signal });
      const next = parse(await answer.text()).querySelector(input.dataset.search);
      if (!answer.ok || !next) return;
      list().replaceWith(document.adoptNode(next));
      dress();
      say(input.value.trim() && `Results: ${options().length}`);
    } catch (fault) {
      if (fault.name !== "AbortError") say("No connection: search is not possible.", true);
    }
  };
  input.role = "combobox";
  input.ariaAutoComplete = "list";
  input.setAttribute("aria-controls", input.dataset.search.slice(1));
  dress();
  input.addEventListener("input", () => { clearTimeout(wait); wait = setTimeout(look, 80); });
  input.addEventListener("keydown", (event) => {
    const all = options();
    if (event.key === "Enter" && all[at]) { event.preventDefault(); all[at].click(); }
    if (event.key === "Escape") { input.value = ""; look(); }
    if (!all.length || (event.key !== "ArrowDown" && event.key !== "ArrowUp")) return;
    event.preventDefault();
    if (all[at]) all[at].ariaSelected = "false";
    at = (at + (event.key === "ArrowDown" ? 1 : all.length + (at < 0 ? 0 : -1))) % all.length;
    all[at].ariaSelected = "true";
    all[at].scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", all[at].id);
  });
}

dressers.push(["[data-search]", search]);
