// What the page runs on which a picture is measured.
import "../lock.js";
import "../unsent.js";
import "../viewer.js";
import "../measure.js";
