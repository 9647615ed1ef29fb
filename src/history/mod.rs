//! Before the recheck: everything that was ever found at each place of one horse, and what to look at again today.

mod answers;
mod course;
mod fold;
mod pages;
mod pictures;
mod shown;
mod site;
pub mod store;
mod view;

pub use answers::{Line as Told, Positive, is_positive, newest, open as open_answers};
pub use course::{Chart, Course, Point, conditions, courses};
pub use fold::{Cell, Correction, Fact, Found, Line, Open, Said, Standing, fold};
pub use pages::router;
pub use site::Site;
pub use store::Past;
