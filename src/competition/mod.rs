//! Competition control: the rules of bodies as the practice has read them, what they mean for a horse that was treated, and
//! the note for its owner.
//!
//! No rule is shipped. A rule meets a treatment by its medicine, by its procedure or, where the record has words only, by
//! these words; the arithmetic is `reasoning::competition`. It reckons with what is entered and nothing else: what no rule
//! is kept for is said, and a detection time without a veterinarian's margin gives no day.

mod found;
mod horse;
mod margin;
mod note;
mod rules;
mod set_form;
mod sets;
pub mod store;
mod treatment;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{App, pdf};

pub use rules::{Kept, Restriction, RuleSet, Subject};

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/competition", get(sets::list).post(sets::add))
        .route("/practice/competition/new", get(sets::new))
        .route("/practice/competition/{id}", get(sets::show).post(sets::change))
        .route("/practice/competition/{id}/restrictions", post(sets::restrict))
        .route("/practice/competition/{id}/restrictions/{restriction}/strike", post(sets::strike))
        .route("/horses/{id}/competition", get(horse::page))
        .route("/horses/{id}/competition/margins", post(margin::keep))
        .route("/horses/{id}/competition/note", get(note::page))
        .route("/horses/{id}/competition/note.pdf", pdf::get(note::page))
}
