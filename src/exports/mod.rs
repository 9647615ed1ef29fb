//! Taking everything along: all tables as CSV in one file, and the contacts as vCards. For the owner, who shows the
//! password again; each time stands in the audit.

pub(crate) mod lines;
mod pages;
pub mod safe;
mod tables;
pub mod vcard;

use axum::{Router, routing::get};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/export", get(pages::page).post(pages::ask))
        .route("/practice/exports/{id}", get(pages::fetch))
}
