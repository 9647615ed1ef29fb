// Taps of the exam: sent one after another in the order of the thumbs, each once. None is dropped while another is
// under way or while there is no connection, and no row jumps under the hand. Works on top of app.js.
"use strict";
{
  const waiting = [];
  let sending = false, retry;

  /** A UUID of version 7 for a form that is sent without its page being fetched first. @returns {string} */
  const number = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    let time = Date.now();
    for (let at = 5; at >= 0; at--, time = Math.floor(time / 256)) bytes[at] = time % 256;
    bytes[6] = 0x70 | (bytes[6] & 15);
    bytes[8] = 0x80 | (bytes[8] & 63);
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
  };

  /** Buttons of taps that are not safe yet say so. */
  const show = () => {
    for (const { button, value } of waiting) {
      const here = document.querySelector(`button[name="${button}"][value="${CSS.escape(value)}"]`);
      here?.setAttribute("aria-busy", "true");
    }
  };

  /** Turn the page while the row under the hand stays where it is. */
  const still = async (row, names, url, how) => {
    const before = row && document.getElementById(row)?.getBoundingClientRect().top;
    const turned = await turn(names, url, how);
    const after = row && document.getElementById(row)?.getBoundingClientRect().top;
    if (turned && before !== undefined && after !== undefined) scrollBy(0, after - before);
    return turned;
  };

  const send = async () => {
    clearTimeout(retry);
    if (sending) return;
    sending = true;
    while (waiting.length) {
      const { row, names, url, fields } = waiting[0];
      fields.set("sent_at", Date.now());
      if (!(await still(row, names, url, { method: "POST", body: fields }))) {
        say(`No connection: ${waiting.length} not saved yet. They are kept on this page and sent again; leave it open.`, true);
        retry = setTimeout(send, 2000);
        break;
      }
      waiting.shift();
      show();
    }
    sending = false;
  };

  addEventListener("submit", (event) => {
    const form = event.target, button = event.submitter;
    if (!form.hasAttribute("data-tap") || !form.dataset.swap) return;
    event.preventDefault();
    event.stopPropagation();
    const fields = new URLSearchParams(new FormData(form));
    if (button?.name) fields.append(button.name, button.value);
    fields.set("submission", number());
    fields.set("seen_at", Date.now());
    const url = button?.getAttribute("formaction") || form.getAttribute("action");
    const row = button?.closest(".exam-row")?.id;
    waiting.push({ row, url, fields, names: form.dataset.swap, button: button?.name, value: button?.value ?? "" });
    show();
    send();
  }, true);

  addEventListener("click", async (event) => {
    const link = event.target.closest?.(".exam-row a[data-swap]");
    if (!link || event.button || event.metaKey || event.ctrlKey || event.shiftKey) return;
    event.preventDefault();
    if (!(await still(link.closest(".exam-row").id, link.dataset.swap, link.href))) say("No connection: this page is as it was.", true);
    for (const other of document.querySelectorAll(".picker")) {
      // One place at a time, unless words are being typed at the other.
      if (other.closest(link.dataset.swap) || other.querySelector(".detail")) continue;
      other.closest(".exam-row")?.querySelector("[aria-expanded]")?.removeAttribute("aria-expanded");
      other.remove();
    }
  }, true);

  addEventListener("beforeunload", (event) => { if (waiting.length) event.preventDefault(); });
  addEventListener("online", send);
}
