// What the videos of a visit run.
import "../lock.js";
import "../unsent.js";
import "../video.js";
