// What the page of a video runs.
import "../lock.js";
import "../unsent.js";
import "../player.js";
