//! Yards: where horses stand, and where a vet drives to.

pub mod degrees;
mod form;
mod pages;
pub mod store;

use axum::{Router, routing::get};

use crate::{App, ids::ClientId};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/yards", get(pages::list).post(pages::create))
        .route("/yards/new", get(pages::new_page))
        .route("/yards/{id}", get(pages::page).post(pages::change))
        .route("/yards/{id}/edit", get(pages::edit_page))
}

/// A yard as entered and edited.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Details {
    pub name: String,
    /// The client who keeps it, if one does.
    pub client_id: Option<ClientId>,
    pub address: String,
    /// Latitude and longitude in decimal degrees, both or neither.
    pub spot: Option<(f64, f64)>,
    /// How to find it.
    pub directions: String,
    pub note: String,
}
