//! Away from the practice: a vet's day kept on the tablet, and visits begun where no signal reaches.
//!
//! [`pages`] are what the tablet takes along: the day, the horses on call, a blank exam. [`begin`] takes a visit that
//! was begun out there, under the ids the tablet gave it. What the tablet does with them is `static/away.js`; how it
//! shows them without the practice is `static/worker.js`, served by [`worker`].

mod begin;
mod blank;
mod pages;
mod store;
mod worker;

use axum::{
    Router,
    routing::{get, post},
};

pub use blank::{VISIT as BLANK_VISIT, blank};

use crate::App;

pub fn public() -> Router<App> {
    Router::new().route("/worker.js", get(worker::script)).route("/away/missing", get(pages::missing))
}

pub fn router() -> Router<App> {
    Router::new()
        .route("/away", get(pages::day))
        .route("/away/pack", get(pages::pack))
        .route("/away/begin", get(begin::page))
        .route("/away/visits", post(begin::send))
}
