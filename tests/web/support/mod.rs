//! The harness: a practice in a temporary folder, browsers that keep their cookie, pages that are looked at by
//! element.

mod app;
mod battery;
mod booked;
mod fixture;
mod page;
pub mod record;
mod rows;

pub use app::{Browser, PASSWORD, TestApp};
pub use battery::{battery, twice};
pub use fixture::Fixture;
pub use page::Page;
