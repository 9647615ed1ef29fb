//! What is outstanding, by what has to be done next; and by kind, for whoever stands at the equipment.

use std::collections::HashMap;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    line::Line,
    order::Item,
    ready,
    stage::Gap,
    store::{self, Named},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::StudyKind,
    clock::Day,
    ids::OrderId,
    imaging::store::objects,
    practice,
    web::{Query, Result, Shell},
};

/// Orders that want the same of somebody.
pub(super) struct Group {
    pub key: &'static str,
    pub title: &'static str,
    pub rows: Vec<Row>,
}

/// An order with the horse and the people it is of.
pub(super) struct Row {
    pub line: Line,
    pub named: Named,
}

/// The group of what nobody waits for yet.
pub(super) const LATER: &str = "later";

/// In the order they are worked off; an order stands in the first group that it fits.
const GROUPS: [(&str, &str); 7] = [
    ("release", "Horses to release after a bone scan"),
    ("repeat", "To repeat"),
    ("today", "To do today, or overdue"),
    ("read", "Reports to read"),
    ("report", "To report"),
    ("tell", "Clients to tell"),
    (LATER, "Planned for later, or no day said"),
];

#[derive(Template, WebTemplate)]
#[template(path = "diagnostics/worklist.html")]
struct WorklistPage {
    shell: Shell,
    kind: Option<StudyKind>,
    counts: Vec<(StudyKind, usize)>,
    groups: Vec<Group>,
    /// Pictures that belong to no order yet.
    arrivals: i64,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    kind: String,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let today = app.clock.now().day(&zone);
    let kind = StudyKind::of(&asked.kind);
    let rows = outstanding(&app, today).await?;
    let count = |kind| rows.iter().filter(|row| row.line.order.kind == kind).count();
    let counts = StudyKind::ALL.into_iter().map(|kind| (kind, count(kind))).filter(|(_, n)| *n > 0).collect();
    let rows = rows.into_iter().filter(|row| kind.is_none_or(|kind| row.line.order.kind == kind));
    let arrivals = objects::count_waiting(app.db.read()).await?;
    Ok(WorklistPage { shell, kind, counts, groups: grouped(rows, today), arrivals }.into_response())
}

/// Every order about which something is open.
pub(super) async fn outstanding(app: &App, today: Day) -> Result<Vec<Row>> {
    let db = app.db.read();
    let mut items: HashMap<OrderId, Vec<Item>> = HashMap::new();
    for item in store::items_undone(db).await? {
        items.entry(item.order_id).or_default().push(item);
    }
    let mut named: HashMap<OrderId, Named> =
        store::named_undone(db).await?.into_iter().map(|named| (named.order_id, named)).collect();
    let ticked = ready::of_undone(db).await?;
    let rows = store::undone(db).await?.into_iter().filter_map(|order| {
        let named = named.remove(&order.id)?;
        let line = Line::new(order, &items.remove(&named.order_id).unwrap_or_default(), today);
        let line = line.with_ready(ticked.get(&named.order_id).map_or(&[], Vec::as_slice));
        Some(Row { line, named })
    });
    Ok(rows.filter(|row| !row.line.gaps.is_empty()).collect())
}

pub(super) fn grouped(rows: impl Iterator<Item = Row>, today: Day) -> Vec<Group> {
    let mut groups: Vec<Group> =
        GROUPS.into_iter().map(|(key, title)| Group { key, title, rows: Vec::new() }).collect();
    for row in rows {
        let key = key_of(&row.line, today);
        if let Some(group) = groups.iter_mut().find(|group| group.key == key) {
            group.rows.push(row);
        }
    }
    groups.retain(|group| !group.rows.is_empty());
    groups
}

fn key_of(line: &Line, today: Day) -> &'static str {
    let due = line.order.planned_on.is_some_and(|day| day <= today);
    if line.gaps.contains(&Gap::NotReleased) {
        return "release";
    }
    match line.gaps.first() {
        Some(Gap::Repeat(_)) => "repeat",
        Some(Gap::NotAcquired(_)) if due => "today",
        Some(Gap::NotAcquired(_)) => LATER,
        Some(Gap::NotRead) => "read",
        Some(Gap::NotReported | Gap::CameAfter(_)) => "report",
        Some(Gap::NotTold | Gap::NotReleased) | None => "tell",
    }
}
