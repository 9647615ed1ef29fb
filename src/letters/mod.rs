//! Papers in words of the practice's own: owner sheet, referral, insurer, consent, purchase examination. The record fills the
//! named fields, a person reads and changes the words, and what is kept is never changed.

mod answers;
mod facts;
mod names;
mod pages;
mod paper;
mod store;
mod text;
mod wording;

pub use store::{Kept, of_visit};
pub use text::{Part, parts};

use axum::{Router, routing::get};

use crate::{App, pdf};

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/letters", get(pages::list))
        .route("/visits/{id}/letters/{kind}", get(pages::write).post(pages::keep))
        .route("/letters/{id}", get(paper::page))
        .route("/letters/{id}/letter.pdf", pdf::get(paper::page))
        .route("/practice/letters", get(wording::list))
        .route("/practice/letters/{kind}", get(wording::show).post(wording::change))
}
