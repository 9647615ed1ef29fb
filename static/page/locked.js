// What the pages run that let somebody in.
import "../lock.js";
