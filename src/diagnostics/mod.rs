//! Diagnostics: what was ordered for a visit, what of it was taken, what it shows, and whether the client knows.
//!
//! An order and its items are rows with a history of steps; what was found is entries of the record that name the
//! order. [`Stage`] and [`Gap`] are worked out from both, never stored.

mod order;
mod stage;
pub mod store;

pub use order::{Item, ItemState, Kind, Order, Step};
pub use stage::{Gap, Stage};
