// What the photos of a visit run.
import "../lock.js";
import "../unsent.js";
import "../photo.js";
import "../film.js";
