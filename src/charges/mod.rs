//! What a visit is charged: lines proposed from the record at the practice's own prices, gone over by a person, and handed
//! over once to whoever keeps the accounts. There is no ledger here, and none of it is part of the record.
//!
//! Nothing that is proposed is kept: it is what the record holds ([`facts`]) beyond what was gone over before. A line that
//! was gone over stays; a wrong one is reversed by another, and what it was about is proposed again.

mod batch;
mod facts;
mod form;
mod handing;
mod kept;
mod pages;
mod price_form;
mod prices;
mod scene;
pub mod store;

use axum::{
    Router,
    routing::{get, post},
};

use crate::{
    App,
    clock::{At, Day},
    ids::VisitId,
    web::Result,
};

/// Days back in which a signed visit that nobody has gone over is looked for.
const DAYS_BACK: i64 = 90;

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/prices", get(prices::page).post(prices::add))
        .route("/practice/prices/currency", post(prices::currency))
        .route("/practice/prices/{id}/end", post(prices::end))
        .route("/practice/charges", get(handing::page).post(handing::hand_over))
        .route("/practice/charges/{file}", get(handing::file))
        .route("/visits/{id}/charges", get(pages::page).post(pages::look_over))
        .route("/visits/{id}/charges/own", post(pages::own))
        .route("/visits/{id}/charges/{line}/reverse", post(pages::reverse))
}

/// How many lines of a visit are to be gone over; none where the practice keeps no prices.
pub async fn to_look_over(app: &App, visit: VisitId) -> Result<Option<usize>> {
    if store::currency(app.db.read()).await?.is_none() {
        return Ok(None);
    }
    let scene = scene::Scene::load(app, visit).await?;
    Ok(Some(scene.open.len()).filter(|count| *count > 0))
}

/// "3 visits to look over, 12 lines to hand over"; none where there is nothing of either or no prices are kept.
pub async fn waiting(app: &App, today: Day, now: At) -> Result<Option<String>> {
    let db = app.db.read();
    if store::currency(db).await?.is_none() {
        return Ok(None);
    }
    let zone = crate::practice::store::get(db).await?.zone;
    let visits = store::count_not_looked_over(db, today.plus_days(-DAYS_BACK).start(&zone), now).await?;
    let lines = store::count_waiting(db).await?;
    let said = |count: i64, one: &str, many: &str, what: &str| {
        (count > 0).then(|| format!("{count} {} to {what}", if count == 1 { one } else { many }))
    };
    let parts = [said(visits, "visit", "visits", "look over"), said(lines, "line", "lines", "hand over")];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    Ok((!parts.is_empty()).then(|| parts.join(", ")))
}
