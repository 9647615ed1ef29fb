// First-party script, hooked by data-* attributes only; every page works without it.
"use strict";
