// A part of a page that goes on by itself asks how it stands, until it has ended.

const SECOND = 1000;

async function look() {
  const region = document.querySelector("[data-poll]");
  if (!region) return;
  try {
    const answer = await fetch(location.href, { signal: AbortSignal.timeout(10 * SECOND) });
    if (answer.ok) swap(`#${region.id}`, parse(await answer.text()));
  } catch {
    // No connection: it is asked again.
  }
  setTimeout(look, SECOND);
}

setTimeout(look, SECOND);
