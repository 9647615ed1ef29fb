//! Care: the dose for this horse with its reasons and warnings, what was given, handed over and prescribed, its papers;
//! and what a horse's medicines must know of it.
//!
//! Everything given is an entry of the record. It proposes with its reasons; a person decides.

mod ending;
mod form;
mod horse;
mod papers;
mod scene;
pub mod store;
mod visit;
mod work;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{App, pdf};

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/care", get(visit::page).post(work::give))
        .route("/visits/{id}/care/{entry}/withdraw", post(work::withdraw))
        .route("/visits/{id}/care/{entry}/label", get(papers::label))
        .route("/visits/{id}/care/{entry}/label.pdf", pdf::get(papers::label))
        .route("/visits/{id}/care/{entry}/prescription", get(papers::prescription))
        .route("/visits/{id}/care/{entry}/prescription.pdf", pdf::get(papers::prescription))
        .route("/visits/{id}/euthanasia", get(ending::page).post(ending::record))
        .route("/horses/{id}/medicines", get(horse::page))
        .route("/horses/{id}/risks", post(horse::add_risk))
        .route("/horses/{id}/risks/{risk}/end", post(horse::end_risk))
        .route("/horses/{id}/passport", post(horse::passport_seen))
}
