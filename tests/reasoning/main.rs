//! What the trade knows and what follows from it, checked against lists and libraries that are not ours.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod catalogue;
mod cautions;
mod charges;
mod competition;
mod diagnostics;
mod dose;
mod enzymes;
mod exam_state;
mod history;
mod hoof;
mod identity;
mod imports;
mod keeping;
mod line;
mod localise;
mod place;
mod programme;
mod projection;
mod release;
mod road;
mod scan;
mod second_factor;
mod tendon;
mod triage;
mod typed;
mod watch;
mod weight;
mod words;
