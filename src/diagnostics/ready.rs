//! What is made ready for an order, as ticks: by whom, and when. None of it is required; what is missing is open.

use std::collections::HashMap;

use sqlx::SqliteExecutor;

use super::changes::By;
use crate::{
    catalogue::{Study, catalogue},
    clock::At,
    db::Tx,
    ids::OrderId,
};

/// A tick as it was set.
#[derive(Debug, Clone)]
pub(super) struct Ready {
    pub code: String,
    pub by: String,
    pub at: At,
}

/// One line of the list, ticked or open.
#[derive(Debug, Clone)]
pub(super) struct Tick {
    pub code: &'static str,
    pub name: &'static str,
    pub done: Option<Ready>,
}

/// The list of a study with what is ticked of it.
pub(super) fn ticks(study: &'static Study, ready: &[Ready]) -> Vec<Tick> {
    let rows = study.prepare.iter().filter_map(|code| catalogue().diagnostics.prepare.get(code));
    let tick = |row: &'static crate::catalogue::diagnostics::Prepare| Tick {
        code: &row.code,
        name: &row.name,
        done: ready.iter().find(|one| one.code == row.code).cloned(),
    };
    rows.map(tick).collect()
}

/// "3 of 5"; `None` where the study has no list.
pub(super) fn count_words(study: &Study, ready: &[String]) -> Option<String> {
    let all = study.prepare.len();
    let done = study.prepare.iter().filter(|code| ready.contains(code)).count();
    (all > 0).then(|| format!("{done} of {all}"))
}

pub(super) async fn of_order(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Ready>> {
    sqlx::query_as!(
        Ready,
        r#"select r.code, s.name as by, r.at as "at: At" from diagnostic_ready r join staff s on s.id = r.by_id
           where r.order_id = ?"#,
        order
    )
    .fetch_all(db)
    .await
}

/// What is ticked of everything about which something is open.
pub(super) async fn of_undone(db: impl SqliteExecutor<'_>) -> sqlx::Result<HashMap<OrderId, Vec<String>>> {
    let rows = sqlx::query!(
        r#"select order_id as "order_id: OrderId", code from diagnostic_ready
           where order_id in (select id from diagnostic_undone)"#
    )
    .fetch_all(db)
    .await?;
    let mut all: HashMap<OrderId, Vec<String>> = HashMap::new();
    for row in rows {
        all.entry(row.order_id).or_default().push(row.code);
    }
    Ok(all)
}

/// Ticks a line; zero rows mean that it is ticked already.
pub(super) async fn tick(tx: &mut Tx, order: OrderId, code: &str, by: By) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into diagnostic_ready (order_id, code, by_id, at) values (?, ?, ?, ?) on conflict do nothing",
        order,
        code,
        by.who,
        by.at
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Takes a tick back; zero rows mean that there is none.
pub(super) async fn untick(tx: &mut Tx, order: OrderId, code: &str) -> sqlx::Result<u64> {
    let done = sqlx::query!("delete from diagnostic_ready where order_id = ? and code = ?", order, code)
        .execute(&mut **tx)
        .await?;
    Ok(done.rows_affected())
}
