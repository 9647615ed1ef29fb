//! The body as a picture: the mark that stands for one place, and the plan of the horse that holds them all.
//!
//! Both are server-rendered SVG. Severity is told by shape and number, never by shade alone, and every mark
//! and every spot has a name in words. Who shows a mark says what it stands for; nothing here reads the store.

mod drawing;
mod mark;
mod plan;

pub use drawing::{Drawing, DrawingSpot, drawing};
pub use mark::{Mark, MarkPicture, State, Trend};
pub use plan::{Numb, Over, Plan, Seen};
