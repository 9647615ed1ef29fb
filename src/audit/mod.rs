//! What was done with the practice's data as a whole, by whom and when: brought in, taken out, put together, shown in
//! a calendar. It only grows.

mod chain;
mod pages;
pub mod store;

use axum::{Router, routing::get};

pub(crate) use chain::{link_all, verify};

use crate::App;

pub fn router() -> Router<App> {
    Router::new().route("/practice/audit", get(pages::page))
}
