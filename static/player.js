// Steps a video frame by frame; two beside each other step and play together, each from where it stands.

/** Seconds of a frame while the browser has not told better. */
const FRAME = 1 / 25;
/** No camera's frames are longer or shorter than these, in seconds. */
const [SHORTEST, LONGEST] = [1 / 1000, 1 / 5];

/** The shortest time between two frames that were shown, by video. @type {WeakMap<HTMLVideoElement, number>} */
const frames = new WeakMap();

/** Learns from playing how long a frame lasts. @param {HTMLVideoElement} video */
function learn(video) {
  let last;
  const shown = (_, { mediaTime }) => {
    const gap = mediaTime - last;
    if (gap >= SHORTEST && gap <= LONGEST && !video.seeking) frames.set(video, Math.min(gap, frames.get(video) ?? LONGEST));
    last = video.paused ? undefined : mediaTime;
    video.requestVideoFrameCallback(shown);
  };
  video.requestVideoFrameCallback?.(shown);
}

/** To the middle of a frame: its edge may be reckoned to either side. @param {HTMLVideoElement[]} videos @param {number} count */
function step(videos, count) {
  for (const video of videos) {
    video.pause();
    const frame = frames.get(video) ?? FRAME;
    const to = (Math.floor(video.currentTime / frame) + count + 0.5) * frame;
    video.currentTime = Math.max(0, Math.min(to, video.duration || to));
  }
}

function play(videos) {
  const playing = videos.some((video) => !video.paused);
  for (const video of videos) {
    if (playing) video.pause();
    else video.play().catch(() => say("This browser cannot play this video. The file can be opened with another program."));
  }
}

/** @param {HTMLElement} keys */
function dress(keys) {
  const videos = [...document.querySelectorAll(`#${keys.dataset.player} video`)];
  const button = keys.querySelector("[data-play]");
  const named = () => { button.textContent = videos.some((video) => !video.paused) ? "Pause" : "Play"; };
  for (const video of videos) {
    learn(video);
    for (const event of ["play", "pause", "ended"]) video.addEventListener(event, named);
  }
  button.addEventListener("click", () => play(videos));
  for (const one of keys.querySelectorAll("[data-step]")) one.addEventListener("click", () => step(videos, Number(one.dataset.step)));
  keys.querySelector("[data-speed]").addEventListener("change", ({ target }) => {
    for (const video of videos) video.playbackRate = Number(target.value);
  });
  // Letters are keys only where the focus is: they are typed elsewhere.
  const keyed = (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("input, select, textarea")) return;
    const does = { b: () => step(videos, -1), n: () => step(videos, 1), p: () => play(videos) }[event.key];
    if (!does) return;
    event.preventDefault();
    does();
  };
  for (const area of [document.getElementById(keys.dataset.player), keys]) area.addEventListener("keydown", keyed);
  keys.hidden = false;
}

for (const keys of document.querySelectorAll("[data-player]")) dress(keys);
