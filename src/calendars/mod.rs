//! A vet's visits in the calendar of a telephone: a feed at an address that cannot be guessed and can be withdrawn
//! (RFC 5545), and how much of a visit it says, which the practice chooses.

mod feed;
mod pages;
mod settings;
pub mod store;
mod together;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

/// A telephone's calendar signs nobody in: the address is the key.
pub fn public() -> Router<App> {
    Router::new().route("/calendar/{file}", get(pages::feed))
}

pub fn router() -> Router<App> {
    Router::new()
        .route("/me/calendar", get(pages::page).post(pages::make))
        .route("/me/calendar/withdraw", post(pages::withdraw))
        .route("/practice/calendars", get(settings::page).post(settings::change))
        .route("/practice/calendars/{staff}/withdraw", post(settings::withdraw))
}
