//! Follow-ups: who is due, who is overdue, and how each was closed.

pub mod store;

use crate::{
    clock::Day,
    ids::{FollowUpId, HorseId, VisitId},
};

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
