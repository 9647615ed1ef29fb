//! Controlled drugs: a register for every safe and every vehicle. Each movement is a line that stays; what is wrong is
//! reversed, and a balance below nothing or beside a count is shown as a discrepancy.

mod form;
mod pages;
pub mod store;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub(crate) use pages::discrepancy;

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/stock", get(pages::list).post(pages::add_store))
        .route("/practice/stock/{id}", get(pages::register))
        .route("/practice/stock/{id}/lines", post(pages::add_line))
        .route("/practice/stock/{id}/lines/{line}/reverse", post(pages::reverse))
}

/// Microlitres of millilitres; the register counts in whole ones.
#[expect(clippy::cast_possible_truncation, reason = "volumes of a register are far below 2^53 microlitres")]
pub fn ul_of_ml(ml: f64) -> i64 {
    (ml * 1000.0).round() as i64
}

/// "8.5 ml", "-2 ml"
pub fn ml_words(ul: i64) -> String {
    let sign = if ul < 0 { "-" } else { "" };
    let (whole, rest) = (ul.unsigned_abs() / 1000, ul.unsigned_abs() % 1000);
    let rest = format!("{rest:03}");
    let rest = rest.trim_end_matches('0');
    if rest.is_empty() { format!("{sign}{whole} ml") } else { format!("{sign}{whole}.{rest} ml") }
}
