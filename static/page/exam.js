// What the exam runs.
import "../lock.js";
import "../unsent.js";
import "../sections.js";
import "../exam.js";
import "../picks.js";
import "../live.js";
import "../line.js";
import "../timers.js";
import "../keyboard.js";
import "../photo.js";
import "../order.js";
