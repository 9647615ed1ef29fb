//! The examination: one page that a scribe keeps up with, left beside right, in the order of the hands.
//!
//! [`state`] folds the visit's entries into what is known of each place, [`sections`] lays the places out, and
//! [`view`] and [`picker`] are the rows and the picker as [`pages`] shows them, with [`bar`] over them;
//! [`picks`] are the same in pieces, for a tablet without an answer. Every tap is an entry of its own:
//! [`entries`] has their handlers, [`question`] what can be asked at a place, [`form`] how an answer is read, and
//! [`stamp`] is the one way from a form into the record. [`movement`] holds the sections that are not places under
//! the hands, and [`tablets`] what several tablets on one exam have to know of each other.

mod bar;
mod entries;
mod form;
mod line;
pub mod movement;
mod pages;
mod picker;
pub mod picks;
pub mod question;
pub mod say;
pub mod sections;
pub mod stamp;
pub mod state;
mod store;
pub mod tablets;
mod tap;
mod view;
mod way;

use axum::Router;

use crate::App;

/// What is nobody's data.
pub fn public() -> Router<App> {
    picks::public()
}

pub fn router() -> Router<App> {
    pages::router()
        .merge(entries::router())
        .merge(movement::router())
        .merge(tablets::router())
        .merge(line::router())
}
