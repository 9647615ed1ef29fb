// What the page of an import runs: it asks how far the run has come.
import "../find.js";
import "../lock.js";
import "../unsent.js";
import "../poll.js";
