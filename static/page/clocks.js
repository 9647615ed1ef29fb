// What pages with the clock of a block run: the day, the work-up and its readings.
import "../lock.js";
import "../unsent.js";
import "../film.js";
import "../clock.js";
import "../order.js";
