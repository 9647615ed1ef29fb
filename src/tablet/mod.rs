//! The tablets: what waits on one is sealed with a key that belongs to one account on that one tablet. The server
//! makes the key, keeps it wrapped, and hands the same one to the same account whenever it is signed in and unlocked.

mod pages;
mod store;
mod wrap;

use axum::{
    Router,
    routing::{get, post},
};

pub use wrap::Keeper;

use crate::App;

pub fn public() -> Router<App> {
    Router::new().route("/tablet/locked", get(pages::locked))
}

pub fn router() -> Router<App> {
    Router::new().route("/tablet/key", post(pages::key))
}
