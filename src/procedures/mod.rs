//! Procedures: what a farrier is asked to do, foot by foot, and what was done to a joint, each a sheet whose fields stand in the
//! catalogue; and the pages that are printed of them.
//!
//! A sheet that is filled in is an entry of the visit: its words for every page that reads the record, its answers by
//! field so that it can be amended. It is signed with its visit.

mod form;
mod pages;
mod paper;
mod scene;
mod store;

use axum::{Router, routing::get};

use crate::{App, pdf};

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/procedures/{sheet}", get(pages::page).post(pages::send))
        .route("/visits/{id}/procedures/{sheet}/paper", get(paper::page))
        .route("/visits/{id}/procedures/{sheet}/paper.pdf", pdf::get(paper::page))
}
