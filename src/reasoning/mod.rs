//! What follows from what the trade knows: pure functions, no I/O, no clock, no SQL.

pub mod cautions;
pub mod charges;
pub mod competition;
pub mod decay;
pub mod dose;
pub mod enzymes;
pub mod fill;
pub mod hoof;
pub mod identity;
pub mod keeping;
pub mod line;
pub mod localise;
pub mod programme;
pub mod projection;
mod refused;
pub mod release;
pub mod road;
pub mod tendon;
pub mod triage;
pub mod uptake;
pub mod watch;
pub mod weight;

pub use refused::Refused;
