//! Papers: what leaves the house in words. An entry as a sentence, and the report of a visit.

mod after;
mod authors;
pub mod dosed;
pub mod exercise;
pub mod measured;
pub mod needle;
mod pages;
mod report;
pub mod samples;
pub mod scan;
mod store;
pub mod told;
mod whole;
pub mod words;

pub use pages::router;
