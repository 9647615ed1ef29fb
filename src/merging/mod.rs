//! Two rows that are one client or one horse: both beside each other, field by field what stays, everything that hung
//! on either hangs on the one that stays, and old addresses lead on to it.
//!
//! The record is never rewritten: its entries name visits. Where one names a horse, or a tablet or a picture does, the
//! row of [`store::kept_horse`] says which horse that is today.

mod clients;
mod face;
mod horses;
mod lead;
mod pages;
pub mod store;

use axum::{Router, routing::get};
use uuid::Uuid;

pub use lead::on as lead_on;

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/clients/{id}/merge", get(pages::client).post(pages::merge_clients))
        .route("/horses/{id}/merge", get(pages::horse).post(pages::merge_horses))
}

/// What is put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Kind {
    Client,
    Horse,
}

impl Kind {
    /// The name of its table, and what it is called on pages.
    pub fn key(self) -> &'static str {
        match self {
            Kind::Client => "client",
            Kind::Horse => "horse",
        }
    }

    fn of_search(self) -> crate::search::Kind {
        match self {
            Kind::Client => crate::search::Kind::Client,
            Kind::Horse => crate::search::Kind::Horse,
        }
    }

    fn path(self, id: Uuid) -> String {
        format!("/{}s/{id}", self.key())
    }
}
