//! Pictures from the practice's own equipment: DICOM objects come in over the network, out of a form or out of a
//! folder, are kept as they were sent, and find the order they were taken for; what finds none waits for a person.
//!
//! - [`listen`]: the address that equipment calls; [`worklist`]: what it is to take.
//! - [`take`]: an object on its way in; [`head`] and [`object`]: how its file is written and read.
//! - [`join`]: whose picture it is; [`tray`]: what waits for a person, [`back`]: a decision taken back; [`picture`]: what it looks like.
//! - [`look`]: the pages to look at pictures; [`measure`]: marks on them, and what they give.
//! - [`upload`] and [`folder`]: objects that come without a network; [`pages`]: its settings.

mod back;
mod equipment;
pub mod folder;
mod group;
mod head;
mod join;
pub mod listen;
mod look;
mod measure;
mod object;
mod pages;
pub mod picture;
pub mod store;
mod take;
mod tray;
mod upload;
mod worklist;

use axum::{
    Router,
    extract::DefaultBodyLimit,
    routing::{get, post},
};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/diagnostics/arrivals", get(tray::page).post(upload::send))
        // Each file is held to its own bound as it comes.
        .layer(DefaultBodyLimit::disable())
        .route("/diagnostics/arrivals/{id}", get(tray::arrival))
        .route("/diagnostics/arrivals/{id}/match", post(tray::match_it))
        .route("/diagnostics/arrivals/{id}/set-aside", post(tray::set_aside))
        .route("/diagnostics/arrivals/{id}/back", get(back::page).post(back::take_back))
        .route("/images/{id}", get(look::page))
        .route("/images/{id}/picture", get(look::picture))
        .route("/images/{id}/preview", get(look::preview))
        .route("/images/{id}/measure", get(measure::page).post(measure::keep))
        .route("/horses/{id}/measures", get(measure::course))
        .route("/practice/imaging", get(pages::show).post(pages::change))
        .route("/practice/imaging/callers", post(pages::add_caller))
        .route("/practice/imaging/callers/remove", post(pages::remove_caller))
}

/// How an object came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum Source {
    Network,
    Upload,
    Folder,
}

/// What tied an object to its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "snake_case")]
pub enum How {
    /// The study that we minted.
    StudyUid,
    Accession,
    /// The horse, and its only open order of the kind.
    Patient,
    Person,
}
