//! How long records are kept, which must not go, and who asked for a copy. Nothing is destroyed by this program: it says until
//! when a record has to be there.

mod copies;
mod forms;
mod horse;
mod settings;
pub mod store;
mod taken;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/record-keeping", get(settings::page).post(settings::change))
        .route("/copies", get(copies::page))
        .route("/horses/{id}/record", get(horse::page))
        .route("/horses/{id}/record/taken", post(taken::ask))
        .route("/horses/{id}/record/taken/{taking}", get(taken::fetch))
        .route("/horses/{id}/record/holds", post(horse::hold))
        .route("/horses/{id}/record/holds/{hold}/lift", post(horse::lift))
        .route("/horses/{id}/record/copies", post(copies::ask))
        .route("/horses/{id}/record/copies/{copy}/given", post(copies::give))
}
