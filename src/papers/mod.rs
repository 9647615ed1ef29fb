//! Papers: what leaves the house in words. An entry as a sentence, and the report of a visit.

mod after;
mod authors;
mod pages;
mod report;
mod store;
pub mod words;

pub use pages::router;
