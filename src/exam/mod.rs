//! The examination: one page that a scribe keeps up with, left beside right, in the order of the hands.
//!
//! [`state`] folds the visit's entries into what is known of each place; [`sections`] lays the places out;
//! [`pages`] shows them. Every tap is an entry of its own: a place where nothing was found, a finding with its
//! grade, or a correction of an earlier entry.

mod pages;
pub mod sections;
pub mod state;

pub use pages::router;
