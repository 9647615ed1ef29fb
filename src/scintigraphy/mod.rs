//! Scintigraphy: a bone scan from the injection over its phases and regions to the measured release, a page of its
//! order; and the practice's radiation licence, officers and meters.
//!
//! Everything that was done or measured is an entry of the record that names the order. [`gate`] says whether the
//! horse may leave; nothing passes over it.

mod figures;
mod forms;
mod gate;
mod injection;
mod licence;
mod meters;
mod page;
mod rate;
mod region;
mod release;
mod scene;
mod spill;
pub mod store;
mod when;
mod work;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/diagnostics/{id}/scan", get(page::page))
        .route("/diagnostics/{id}/scan/injection", post(work::injection))
        .route("/diagnostics/{id}/scan/region", post(work::region))
        .route("/diagnostics/{id}/scan/rate", post(work::rate))
        .route("/diagnostics/{id}/scan/spill", post(work::spill))
        .route("/diagnostics/{id}/scan/entries/{entry}/withdraw", post(work::withdraw))
        .route("/diagnostics/{id}/scan/release", post(release::release))
        .route("/practice/radiation", get(licence::show).post(licence::change))
        .route("/practice/radiation/officers", post(licence::add_officer))
        .route("/practice/radiation/officers/remove", post(licence::remove_officer))
        .route("/practice/radiation/meters", post(meters::keep))
        .route("/practice/radiation/meters/retire", post(meters::retire))
}
