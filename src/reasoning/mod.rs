//! What follows from what the trade knows: pure functions, no I/O, no clock, no SQL.

pub mod cautions;
pub mod identity;
pub mod line;
pub mod localise;
pub mod projection;
