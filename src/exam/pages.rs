//! The page of the examination.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;

use super::{
    movement::{self, Scene},
    sections::{Part, Row, layout},
    state::{Count, ExamState},
};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    horses::{self, Card},
    ids::VisitId,
    practice, record,
    visits::{self, Visit},
    web::{Path, Query, Result, Shell},
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/visits/{id}/exam", get(exam))
}

/// What the address asks for: another order, a place to open.
#[derive(Deserialize, Default)]
#[serde(default)]
struct Asked {
    order: String,
    gait: String,
    flexion: String,
    flexion_scale: String,
}

/// The page. Its sections stand in the order of the work: the horse at rest first, then hands on, then moving.
/// The sections that are not hands on belong to `movement`.
#[derive(Template, WebTemplate)]
#[template(path = "exam/index.html")]
struct ExamPage {
    shell: Shell,
    visit: Visit,
    card: Card,
    today: Day,
    parts: Vec<PartView>,
    moving: movement::Sections,
}

/// A run of rows with its count.
struct PartView {
    part: Part,
    count: Count,
    rows: Vec<Row>,
}

async fn exam(
    State(app): State<App>,
    shell: Shell,
    can: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let visit = visits::store::get(app.db.read(), id).await?;
    let card = horses::store::card(app.db.read(), visit.horse_id).await?;
    let practice = practice::store::get(app.db.read()).await?;
    let entries = record::current_of_visit(app.db.read(), id).await?;
    let state = ExamState::fold(&entries);
    let order = if asked.order.is_empty() { &practice.exam_order } else { &asked.order };
    let parts = layout(order)
        .into_iter()
        .map(|(part, rows)| PartView { part, count: state.count(rows.iter().flat_map(Row::places)), rows })
        .collect();
    let today = app.clock.now().day(&practice.zone);
    let opened =
        movement::Asked { gait: asked.gait, flexion: asked.flexion, flexion_scale: asked.flexion_scale };
    let moving = movement::Sections::of(&Scene::load(&app, &can.user, id, opened).await?);
    Ok(ExamPage { shell, visit, card, today, parts, moving }.into_response())
}
