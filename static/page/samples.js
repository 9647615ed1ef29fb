// What an order's page runs: what every page does, and the clock of a sample.
import "../find.js";
import "../lock.js";
import "../unsent.js";
import "../clock.js";
