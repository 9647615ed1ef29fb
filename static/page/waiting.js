// What pages run that wait for something on the server: an import, a copy.
import "../find.js";
import "../lock.js";
import "../unsent.js";
import "../poll.js";
