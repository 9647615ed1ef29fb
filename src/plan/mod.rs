//! Assessment and plan: what the horse is thought to have, what was done, what comes next; then the signature
//! that locks a visit, and the dated addenda after it.
//!
//! Everything here but follow-ups is entries of the record: a change is a new entry with a reason.

mod addenda;
mod assessment;
mod case;
mod choices;
mod contents;
mod form;
mod line;
mod part;
mod review;
mod sheet;
mod signing;
mod site;
mod store;

use axum::Router;

use crate::App;

pub use choices::{Certainty, Choices, NearDay, choices};
pub use part::{HISTORY, Part};
pub use site::Site;

pub fn router() -> Router<App> {
    assessment::router().merge(signing::router()).merge(addenda::router())
}
