//! What was done with the practice's data as a whole, by whom and when: brought in, taken out, put together, shown in
//! a calendar. It only grows.

mod pages;
pub mod store;

use axum::{Router, routing::get};

use crate::App;

pub fn router() -> Router<App> {
    Router::new().route("/practice/audit", get(pages::page))
}
