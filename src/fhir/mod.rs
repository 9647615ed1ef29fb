//! A horse for other people's programs: HL7 FHIR R4B as JSON, read only. One horse with its patient-animal extension, and
//! everything that is recorded of it as a collection.
//!
//! Source: HL7 FHIR R4B (4.3.0), and its extension `patient-animal`. Codes of our own catalogue are sent beside their
//! words, under a system that leads nowhere: they only say whose they are.

mod facts;
mod given;
mod horse;
mod ordered;
mod pages;
mod seen;
mod terms;
mod visit;

pub use pages::collection;

use axum::{Router, routing::get};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/fhir/Patient/{id}", get(pages::patient))
        .route("/fhir/Patient/{id}/$everything", get(pages::everything))
}
