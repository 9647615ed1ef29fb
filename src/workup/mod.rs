//! The work-up: what was seen moving, flexed and squeezed, and every block with its clock, by limb; and in the open
//! what it says, and which block or picture is worth doing next.
//!
//! [`course`] folds the entries of a visit, `elsewhere` adds those of other
//! visits, [`clock`] and [`dose`] count, `reason` asks the reckoning, `own` says which numbers are the practice's, `timeline`,
//! `memory`, `picture`, `chart` and `sources` are what the page shows. Nothing here decides: a person does.

mod block;
mod cautions;
mod chart;
pub mod clock;
mod consent;
mod consents;
pub mod course;
pub mod dose;
mod elsewhere;
mod form;
mod leaving;
mod memory;
mod own;
mod pages;
mod picture;
mod reading;
mod reason;
mod scene;
pub mod sheet;
mod skin;
mod sources;
mod takeback;
mod timeline;
mod when;
mod write;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/work-up", get(pages::page))
        .route("/visits/{id}/work-up/block", get(block::page).post(block::record))
        .route("/visits/{id}/work-up/consents", get(consents::page).post(consents::record))
        .route("/visits/{id}/work-up/cautions", post(cautions::raise))
        .route("/visits/{id}/work-up/go-on", post(cautions::go_on))
        .route("/visits/{id}/work-up/sedation", post(leaving::sedate))
        .route("/visits/{id}/work-up/leaving", post(leaving::leave))
        .route("/visits/{id}/work-up/blocks/{entry}/reading", get(reading::page).post(reading::record))
        .route("/visits/{id}/work-up/entries/{entry}/withdraw", post(takeback::send))
}
