//! The examination: one page that a scribe keeps up with, left beside right, in the order of the hands.
//!
//! [`state`] folds the visit's entries into what is known of each place; [`sections`] lays the places out;
//! [`pages`] shows them. Every tap is an entry of its own: a place where nothing was found, a finding with its
//! grade, or a correction of an earlier entry. [`stamp`] is the one way from a form into the record; [`movement`]
//! holds the sections that are not places under the hands.

pub mod movement;
mod pages;
pub mod sections;
pub mod stamp;
pub mod state;

use axum::Router;

use crate::App;

pub fn router() -> Router<App> {
    pages::router().merge(movement::router())
}
