//! The harness: a practice in a temporary folder, browsers that keep their cookie, pages that are looked at by
//! element.

mod app;
mod battery;
mod booked;
pub mod filled;
mod fixture;
pub mod forms;
pub mod imports;
mod page;
pub mod parts;
pub mod pictures;
pub mod record;
mod rows;

pub use app::{Browser, PASSWORD, TestApp};
pub use battery::{BAD_INPUTS, LET_THROUGH, as_a_page_keeps_it, battery, twice};
pub use fixture::Fixture;
pub use page::Page;
