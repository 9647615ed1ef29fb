//! Visits: from the call to the signature. Booked, moved, cancelled, begun, handed over.

mod about;
mod call;
pub mod complaint;
mod complaints;
mod day;
mod handover;
mod moving;
mod pages;
mod sheet;
pub mod steps;
mod stop;
pub mod store;
pub mod triage;
mod walk_in;
pub mod when;
mod wrong_horse;

use std::fmt;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{
    App,
    clock::At,
    ids::{ClientId, ComplaintId, HorseId, StaffId, StopId, VisitId, YardId},
    pdf,
};

pub fn router() -> Router<App> {
    Router::new()
        .route("/", get(day::page))
        .route("/day-sheet", get(sheet::page))
        .route("/day-sheet.pdf", pdf::get(sheet::page))
        .route("/call", get(call::page).post(call::send))
        .route("/visits/{id}", get(pages::page))
        .route("/stops/{id}", get(stop::page))
        .route("/stops/{id}/list.pdf", pdf::get(stop::page))
        .route("/visits/{id}/stop", post(stop::leave))
        .route("/visits/{id}/steps", post(pages::step))
        .route("/visits/{id}/complaints", get(complaints::page).post(complaints::send))
        .route("/visits/{id}/move", get(moving::page).post(moving::send))
        .route("/visits/{id}/handover", post(handover::offer))
        .route("/visits/{id}/handover/answer", post(handover::answer))
        .route("/visits/{id}/horse", get(wrong_horse::page).post(wrong_horse::send))
        .route("/walk-in", get(walk_in::page))
        .route("/horses/{id}/visits", post(walk_in::send))
        .route("/visits/{id}/history", get(pages::history))
}

/// How far a visit has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum State {
    Booked,
    Arrived,
    InHand,
    ToSign,
    Signed,
    DidNotCome,
    Cancelled,
}

impl State {
    /// The key of forms and style sheets.
    pub fn key(self) -> &'static str {
        match self {
            State::Booked => "booked",
            State::Arrived => "arrived",
            State::InHand => "in_hand",
            State::ToSign => "to_sign",
            State::Signed => "signed",
            State::DidNotCome => "did_not_come",
            State::Cancelled => "cancelled",
        }
    }

    /// The class of its shape in the style sheet.
    pub fn shape(self) -> String {
        format!("state state-{}", self.key().replace('_', "-"))
    }

    /// Whether entries may be recorded (late ones aside).
    pub fn is_open(self) -> bool {
        matches!(self, State::InHand | State::ToSign)
    }

    /// Whether somebody has seen the horse.
    pub fn has_begun(self) -> bool {
        self.is_open() || self == State::Signed
    }
}

impl fmt::Display for State {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            State::Booked => "booked",
            State::Arrived => "arrived",
            State::InHand => "in hand",
            State::ToSign => "to sign",
            State::Signed => "signed",
            State::DidNotCome => "did not come",
            State::Cancelled => "cancelled",
        })
    }
}

/// A visit as its row stands.
#[derive(Debug, Clone)]
pub struct Visit {
    pub id: VisitId,
    pub horse_id: HorseId,
    /// Who called about it.
    pub client_id: Option<ClientId>,
    pub vet_id: Option<StaffId>,
    pub vet: Option<String>,
    /// `yard` or `clinic`
    pub place: String,
    pub yard_id: Option<YardId>,
    pub starts_at: At,
    pub minutes: i64,
    pub urgent: bool,
    pub walk_in: bool,
    /// What it shares with other visits of its yard.
    pub stop_id: Option<StopId>,
    pub state: State,
    pub signed_by: Option<StaffId>,
    pub signed_at: Option<At>,
    pub version: i64,
}

/// What the caller said is wrong, one of perhaps several.
#[derive(Debug, Clone)]
pub struct Complaint {
    pub id: ComplaintId,
    pub words: String,
    pub site: String,
    pub since: String,
    pub onset: String,
    pub course: String,
    pub weight_bearing: String,
    pub shod_on: String,
    pub medicines: String,
    pub work: String,
    pub version: i64,
}
