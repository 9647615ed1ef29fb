//! The medical record that only grows.
//!
//! An [`Entry`] says one thing that was seen, tested, decided or corrected. It is never changed: a correction is
//! a new entry that supersedes it, with a reason. Entries form a chain in the server's order of receipt, over
//! salted digests, so that a lawful erasure can take the words away and the chain still verifies.

mod body;
mod chain;
mod death;
mod dosed;
pub mod exercise;
mod mark;
mod marked;
mod needle;
mod sample;
pub mod scan;
mod store;

pub use body::{Body, Kind};
pub use chain::{Fault, verify, verify_on};
pub use death::Death;
pub use dosed::{Dosed, How};
pub use exercise::Exercise;
pub use mark::{Head, MARK, hex};
pub(crate) use mark::{High, Mark, compare as compare_mark};
pub use marked::Marked;
pub use needle::{After, Given, from_grades};
pub use sample::{Drawn, Parcel, Sample};
pub use scan::Scan;
pub use store::{
    Entry, NewEntry, Stamp, append, current_of_visit, current_with_late_of_visit, entries_of_order,
    entries_of_programme, entries_of_visit, erase, head, newest_of_visit, results_of_order,
    results_of_programme, superseded_of_visit,
};
