//! Looking at what equipment sent: previews in lists, one picture with its window, and an earlier one beside it.

mod pages;
mod render;

pub(super) use pages::{page, picture, preview};
pub(super) use render::{Look, look, preview_of};
