// What the call page runs.
import "../find.js";
import "../lock.js";
import "../unsent.js";
import "../answers.js";
