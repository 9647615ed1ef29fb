//! Follow-ups: who is due, who is overdue, and how each was closed.

mod list;
mod pages;
pub mod store;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{
    App,
    clock::Day,
    ids::{FollowUpId, HorseId, VisitId},
};

pub fn router() -> Router<App> {
    Router::new()
        .route("/follow-ups", get(pages::page))
        .route("/follow-ups/{id}/done", post(pages::done))
        .route("/follow-ups/{id}/drop", post(pages::drop_it))
}

/// Something promised for a day.
#[derive(Debug, Clone)]
pub struct FollowUp {
    pub id: FollowUpId,
    pub horse_id: HorseId,
    /// The visit it came out of.
    pub visit_id: Option<VisitId>,
    pub due_on: Day,
    pub what: String,
    /// `open`, `booked`, `done` or `dropped`
    pub state: String,
    pub booked_visit_id: Option<VisitId>,
    pub reason: String,
    pub version: i64,
}
