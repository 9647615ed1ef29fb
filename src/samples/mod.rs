//! Samples for the laboratory: which muscle for which suspicion, how its laboratory wants it, when it was taken and
//! what it was put in, where it went, what was measured, and the sheet that goes with it.
//!
//! Laboratories and what is planned for an order are rows; a sample, a parcel, an enzyme and the words of a sheet are
//! entries of the record that name the order.

mod case;
mod clock;
mod days;
mod enzyme;
mod laboratories;
mod laboratory;
mod pages;
mod parcel;
mod part;
mod plan;
mod sheet;
pub mod store;
mod taken;
mod typed;
mod when;
mod work;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{
    App,
    catalogue::{StudyKind, diagnostics::figures::Reference},
    pdf,
};

pub use laboratory::Laboratory;
pub use part::Part;
pub use plan::{Offer, Plan, TypedPlan, items_for};

pub fn router() -> Router<App> {
    Router::new()
        .route("/diagnostics/{id}/samples", get(pages::page).post(pages::taken))
        .route("/diagnostics/{id}/samples/{entry}/withdraw", post(pages::withdraw))
        .route("/diagnostics/{id}/parcels", post(pages::sent))
        .route("/diagnostics/{id}/parcels/{entry}/received", post(pages::received))
        .route("/diagnostics/{id}/enzymes", post(pages::measured))
        .route("/diagnostics/{id}/plan", post(pages::plan))
        .route("/diagnostics/{id}/submission", get(sheet::page).post(sheet::fill))
        .route("/diagnostics/{id}/submission.pdf", pdf::get(sheet::page))
        .route("/practice/laboratories", get(laboratories::list).post(laboratories::add))
        .route("/practice/laboratories/new", get(laboratories::new))
        .route("/practice/laboratories/{id}", get(laboratories::show).post(laboratories::change))
}

/// "25 to 394 U/L, Standardbred at rest, 194 horses: CLSI method"
pub(crate) fn reference_words(row: &Reference) -> String {
    let number = match (row.value, row.low, row.high) {
        (_, Some(low), Some(high)) => format!("{low} to {high}"),
        (_, Some(low), None) => format!("from {low}"),
        (_, None, Some(high)) => format!("up to {high}"),
        (value, None, None) => value.map(|value| value.to_string()).unwrap_or_default(),
    };
    let of = row.population.as_deref().map(|of| format!(", {of}")).unwrap_or_default();
    let measure = match row.measure.as_str() {
        "ast_u_per_l" => "AST",
        "ck_fold_rise" => "Rise of CK",
        "ck_test_hours" => "Exercise test",
        "ck_after_test_u_per_l" => "CK after the test",
        _ => "CK",
    };
    let unit = if row.unit == "ratio" { "-fold".to_owned() } else { format!(" {}", row.unit) };
    format!("{measure}: {number}{unit}{of}: {}", row.text)
}

/// Whether what is ordered is something for a laboratory.
pub fn is_sample(kind: StudyKind) -> bool {
    matches!(kind, StudyKind::Biopsy | StudyKind::Blood | StudyKind::Synovial)
}
