//! Return to work: a programme that was prescribed at a visit, its gates, what the yard tells, and the sheet for it;
//! and the practice's own programmes.
//!
//! What was prescribed, decided and told are entries of the record that name their programme. The days follow from them
//! (`reasoning::programme`); the next gate stands on the follow-ups.

mod calendar;
pub mod due;
mod forms;
mod own;
mod own_form;
mod page;
mod scene;
mod sheet;
mod start;
pub mod store;
mod work;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{App, pdf};

pub use due::Now;
pub use start::{New, prescribe};

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/programme", get(start::page).post(start::send))
        .route("/programmes/{id}", get(page::page))
        .route("/programmes/{id}/sheet", get(sheet::page))
        .route("/programmes/{id}/sheet.pdf", pdf::get(sheet::page))
        .route("/programmes/{id}/told", post(work::told))
        .route("/programmes/{id}/gate", post(work::gate))
        .route("/programmes/{id}/change", post(work::change))
        .route("/programmes/{id}/end", post(work::end))
        .route("/programmes/{id}/entries/{entry}/withdraw", post(work::withdraw))
        .route("/practice/programmes", get(own::list).post(own::add))
        .route("/practice/programmes/new", get(own::new))
        .route("/practice/programmes/{id}", get(own::show).post(own::change))
}
