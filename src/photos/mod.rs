//! Photos of a visit. Each is an entry of the record (`image`, its `value` the file's SHA-256) and a file in the data
//! folder under that name; what it shows ([`crate::about`]) may stay unsaid. [`upload`] reads them out of a form, from a plain page or from a tablet's queue.

mod pages;
mod picture;
mod store;
mod upload;

use axum::{Router, extract::DefaultBodyLimit, routing::get};

pub use store::{Photo, of_visit, placed_of_horse};

use crate::App;

/// The largest form with a photo in it; a tablet scales its own down to a fraction of it.
const LARGEST: usize = 16 * 1024 * 1024;

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/photos", get(pages::page).post(pages::send))
        .layer(DefaultBodyLimit::max(LARGEST))
        .route("/visits/{id}/photos/{entry}", get(pages::image))
}
