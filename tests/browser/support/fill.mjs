// Fills the demonstration before the journeys begin: they run side by side, and each starts from a copy of it.
import { filled } from "./server.mjs";

await filled();
