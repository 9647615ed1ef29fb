//! Measuring on a picture: points on a foot, outlines of a tendon. Marks are kept in pixels with how large a pixel is,
//! who set them, and what was reckoned; what was measured before stands beside it.
//!
//! - [`fields`]: the form as text; [`scale`]: from pixels to millimetres; [`foot`] and [`tendon`]: what marks give.
//! - [`sheet`]: a picture with its marks; [`pages`]: looking at it and keeping it; [`overlay`]: the marks as drawn.
//! - [`volume`]: of a lesion over its zones, as long as they are on the horse.
//! - [`store`]: what was measured on a horse; [`course`]: how it went over time, with its page.

mod course;
mod fields;
mod foot;
mod overlay;
mod pages;
mod scale;
mod sheet;
mod store;
mod tendon;
mod volume;

pub(super) use course::page as course;
pub(super) use pages::{keep, page};
