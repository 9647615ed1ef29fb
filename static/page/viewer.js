// What the page of a picture runs.
import "../lock.js";
import "../unsent.js";
import "../viewer.js";
