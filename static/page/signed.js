// What every signed-in page runs. Each page has one script that names its modules; it is sent with all of them as one
// file (src/web/script.rs).
import "../find.js";
import "../lock.js";
import "../unsent.js";
import "../film.js";
