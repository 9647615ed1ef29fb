// What the pages run that a tablet takes along.
import "../lock.js";
import "../unsent.js";
import "../away.js";
