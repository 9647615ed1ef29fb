//! Yards and horses that others have to be kept safe from: marks with their dates and reasons, what follows from them on
//! a round, and whom the practice asks what has to be reported.

mod authority;
mod form;
mod marks;
mod pages;
pub mod store;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;
pub use authority::{Authority, Report};
pub use marks::{Mark, Marks, Said};

pub fn router() -> Router<App> {
    Router::new()
        .route("/biosecurity", get(pages::all))
        .route("/biosecurity/authority", post(authority::change))
        .route("/biosecurity/{id}/lift", post(pages::lift))
        .route("/horses/{id}/biosecurity", get(pages::of_horse).post(pages::mark_horse))
        .route("/yards/{id}/biosecurity", get(pages::of_yard).post(pages::mark_yard))
}
