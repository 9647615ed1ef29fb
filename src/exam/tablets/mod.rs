//! Several tablets on one exam: whether there is news, and what each tablet still holds.
//!
//! An open exam asks about once a second whether anything came since; it is told a number or nothing. It also says
//! how many entries wait on it, so that nobody signs without knowing of them.

mod store;

use axum::{
    Json, Router,
    extract::State,
    http::StatusCode,
    response::{IntoResponse, Response},
    routing::{get, post},
};
use serde::{Deserialize, Serialize};

pub use store::{Tablet, not_known_empty};

use crate::{
    App,
    accounts::{Can, act},
    ids::{DeviceId, VisitId},
    record, visits,
    web::{Error, Form, Path, Query, Result},
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/exam/changes", get(changes))
        .route("/visits/{id}/exam/unsent", post(unsent))
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Since {
    after: i64,
}

/// The newest entry of the visit, of whoever.
#[derive(Serialize)]
struct News {
    newest: i64,
}

/// Nothing when nothing came after the entry that the page shows.
async fn changes(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    Query(since): Query<Since>,
) -> Result<Response> {
    let newest = record::newest_of_visit(app.db.read(), id).await?;
    if newest <= since.after {
        return Ok(StatusCode::NO_CONTENT.into_response());
    }
    Ok(Json(News { newest }).into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Report {
    device: String,
    unsent: String,
    /// `no` when the page was left.
    open: String,
}

/// A tablet says what waits on it. It needs no submission id: said twice it is the same.
async fn unsent(
    State(app): State<App>,
    Can { user, .. }: Can<act::Examine>,
    Path(id): Path<VisitId>,
    Form(report): Form<Report>,
) -> Result<StatusCode> {
    let unreadable = || Error::BadRequest("The tablet's report cannot be read".into());
    let device: DeviceId = report.device.parse().map_err(|_| unreadable())?;
    let unsent: i64 =
        report.unsent.parse().ok().filter(|n| (0..=100_000).contains(n)).ok_or_else(unreadable)?;
    let mut tx = app.db.write().await?;
    visits::store::get(&mut *tx, id).await?;
    let tablet = store::Report { visit: id, device, staff: user.id, open: report.open != "no", unsent };
    store::report(&mut tx, &tablet, app.clock.now()).await?;
    tx.commit().await?;
    Ok(StatusCode::NO_CONTENT)
}
