//! Which rows belong to one horse: what refers to it, and to what refers to it, by the database's own references; then what
//! all of that refers to, such as who worked on it.

use std::collections::BTreeSet;

use serde_json::Value;
use sqlx::{AssertSqlSafe, SqliteConnection};

use super::{
    manifest::LeftOut,
    schema::{Reference, Table},
    table::{Rows, listed},
};
use crate::{
    clock::{At, Day},
    ids::HorseId,
};

/// What is the practice's own business, and does not go along with a horse.
const NOT_WITH_A_HORSE: [(&str, &str, &str); 17] = [
    ("legal_hold", "*", "Why the practice may not let the record go is its own business."),
    ("record_copy", "*", "Who else asked for a copy."),
    ("charge", "*", "What the practice charged, and whom."),
    ("charge_handed", "*", "What the practice charged, and whom."),
    ("charge_batch", "*", "What the practice charged, and whom."),
    ("price", "*", "What the practice charges."),
    ("price_currency", "*", "What the practice charges."),
    ("handover", "*", "What one vet told another about taking over."),
    ("departure", "*", "Who was on the road."),
    ("drive", "*", "How long roads took."),
    ("visit_left", "*", "What calendars showed."),
    ("exam_tablet", "*", "Which tablet was open."),
    ("to_tell", "*", "Who had to be told of another time."),
    ("client", "email", "How people are reached."),
    ("client", "note", "What the practice noted about people."),
    ("yard", "note", "What the practice noted about yards."),
    ("yard", "directions", "What the practice noted about yards."),
];

/// Which rows of a table are of the present owner's time, `?2` the instant and `?3` the day of its beginning.
const OF_THE_TIME: [(&str, &str); 7] = [
    ("visit", "starts_at >= ?2"),
    ("horse_weight", "weighed_on >= ?3"),
    ("horse_condition", "scored_on >= ?3"),
    ("follow_up", "created_at >= ?2"),
    (
        "contact",
        "at >= ?2 and (client_id is null or not exists (
            select 1 from party_past p where p.client_id = t.client_id
                and p.horse_id = coalesce(t.horse_id, (select v.horse_id from visit v where v.id = t.visit_id))
                and not exists (select 1 from party n where n.client_id = p.client_id and n.horse_id = p.horse_id)))",
    ),
    ("biosecurity_mark", "at >= ?2"),
    ("party_past", "0"),
];

/// The beginning of the present owner's time.
pub(super) type Since = Option<(At, Day)>;

/// Takes out of the tables what does not go along, and tells it with its reasons.
pub(super) fn left_out(tables: &mut Vec<Table>) -> Vec<LeftOut> {
    let out =
        |table: &str, column: &str| NOT_WITH_A_HORSE.iter().any(|(t, c, _)| *t == table && *c == column);
    tables.retain(|table| !out(&table.name, "*"));
    for table in tables {
        let name = table.name.clone();
        table.columns.retain(|column| !out(&name, &column.name));
    }
    NOT_WITH_A_HORSE.into_iter().map(LeftOut::of).collect()
}

/// The rows of each table that belong to the horse.
pub(super) async fn rows(
    conn: &mut SqliteConnection,
    tables: &[Table],
    id: HorseId,
    since: Since,
) -> anyhow::Result<Rows> {
    let horse: BTreeSet<i64> =
        places(sqlx::query_scalar("select rowid from horse where id = ?").bind(id), conn).await?;
    let mut rows = Rows::from([("horse".to_owned(), horse)]);
    while down(conn, tables, &mut rows, since).await? {}
    while without_the_rest(conn, tables, &mut rows).await? {}
    let own: BTreeSet<String> = rows.keys().cloned().collect();
    not_referred(conn, &mut rows, id).await?;
    let unnamed = if since.is_some() { former(conn, id).await? } else { BTreeSet::new() };
    while up(conn, tables, &own, &mut rows, &unnamed).await? {}
    Ok(rows)
}

/// Clients who belonged to the horse and do not any more: a copy for the present owner does not name them.
async fn former(conn: &mut SqliteConnection, id: HorseId) -> sqlx::Result<BTreeSet<i64>> {
    let sql = "select c.rowid from client c
               where exists (select 1 from party_past p where p.client_id = c.id and p.horse_id = ?1)
                 and not exists (select 1 from party n where n.client_id = c.id and n.horse_id = ?1)";
    places(sqlx::query_scalar(sql).bind(id), conn).await
}

async fn places(
    query: sqlx::query::QueryScalar<'_, sqlx::Sqlite, i64, sqlx::sqlite::SqliteArguments>,
    conn: &mut SqliteConnection,
) -> sqlx::Result<BTreeSet<i64>> {
    Ok(query.fetch_all(conn).await?.into_iter().collect())
}

/// Adds what refers to the rows that are there; whether anything was added.
async fn down(
    conn: &mut SqliteConnection,
    tables: &[Table],
    rows: &mut Rows,
    since: Since,
) -> sqlx::Result<bool> {
    let before: usize = rows.values().map(BTreeSet::len).sum();
    for table in tables.iter().filter(|table| table.name != "horse") {
        let of_the_time = OF_THE_TIME.iter().find(|(name, _)| *name == table.name).map(|(_, sql)| *sql);
        for Reference { column, table: parent, to } in &table.refers {
            let Some(parents) = rows.get(parent) else { continue };
            let sql = format!(
                "select t.rowid from \"{}\" t where t.\"{column}\" in (
                     select p.\"{to}\" from \"{parent}\" p where p.rowid in (select value from json_each(?1)))
                   and (?2 is null or ?3 is null or ({}))",
                table.name,
                of_the_time.unwrap_or("1")
            );
            let (at, day) = since.unzip();
            let query = sqlx::query_scalar(AssertSqlSafe(sql)).bind(listed(parents)).bind(at).bind(day);
            let found = places(query, conn).await?;
            if !found.is_empty() {
                rows.entry(table.name.clone()).or_default().extend(found);
            }
        }
    }
    Ok(before < rows.values().map(BTreeSet::len).sum())
}

/// Takes away what refers to a row of these tables that is not among them, such as a follow-up of an earlier owner's
/// visit; whether anything went.
async fn without_the_rest(
    conn: &mut SqliteConnection,
    tables: &[Table],
    rows: &mut Rows,
) -> sqlx::Result<bool> {
    let mut went = false;
    for table in tables {
        for Reference { column, table: parent, to } in &table.refers {
            let (Some(own), Some(parents)) = (rows.get(&table.name), rows.get(parent)) else { continue };
            let sql = format!(
                "select t.rowid from \"{}\" t
                 where t.rowid in (select value from json_each(?1)) and t.\"{column}\" is not null and t.\"{column}\" not in (
                     select p.\"{to}\" from \"{parent}\" p where p.rowid in (select value from json_each(?2)))",
                table.name
            );
            let query = sqlx::query_scalar(AssertSqlSafe(sql)).bind(listed(own)).bind(listed(parents));
            let gone = places(query, conn).await?;
            went |= !gone.is_empty();
            if let Some(own) = rows.get_mut(&table.name) {
                own.retain(|place| !gone.contains(place));
            }
        }
    }
    Ok(went)
}

/// What belongs to the horse without a reference of the database: the practice, erasures, merges, files that entries name.
async fn not_referred(conn: &mut SqliteConnection, rows: &mut Rows, id: HorseId) -> anyhow::Result<()> {
    let entries = rows.get("entry").map_or_else(|| "[]".to_owned(), listed);
    let bodies: Vec<String> = sqlx::query_scalar(
        "select body from entry where body is not null and rowid in (select value from json_each(?))",
    )
    .bind(&entries)
    .fetch_all(&mut *conn)
    .await?;
    let mut named = BTreeSet::new();
    for body in bodies {
        files_of(&serde_json::from_str(&body)?, &mut named);
    }
    let named = serde_json::to_string(&named)?;
    let erased = "select rowid from erasure where entry_id in (
                      select id from entry where rowid in (select value from json_each(?)))";
    let files = "select rowid from attachment where sha256 in (select value from json_each(?))";
    let merged = "select rowid from merged where kind = 'horse' and kept_id = ?";
    for (table, found) in [
        ("practice", places(sqlx::query_scalar("select rowid from practice"), conn).await?),
        ("erasure", places(sqlx::query_scalar(erased).bind(entries), conn).await?),
        ("attachment", places(sqlx::query_scalar(files).bind(named), conn).await?),
        ("merged", places(sqlx::query_scalar(merged).bind(id), conn).await?),
    ] {
        rows.entry(table.to_owned()).or_default().extend(found);
    }
    Ok(())
}

/// Every text of 64 hexadecimal letters: what may be the name of a file.
fn files_of(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::String(text) if text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit()) => {
            into.insert(text.clone());
        }
        Value::Array(items) => items.iter().for_each(|item| files_of(item, into)),
        Value::Object(members) => members.values().for_each(|item| files_of(item, into)),
        _ => {}
    }
}

/// Adds what the rows refer to in tables that are not the horse's own; whether anything was added.
async fn up(
    conn: &mut SqliteConnection,
    tables: &[Table],
    own: &BTreeSet<String>,
    rows: &mut Rows,
    unnamed: &BTreeSet<i64>,
) -> sqlx::Result<bool> {
    let before: usize = rows.values().map(BTreeSet::len).sum();
    for table in tables {
        for Reference { column, table: parent, to } in &table.refers {
            let Some(children) = rows.get(&table.name).filter(|_| !own.contains(parent)) else { continue };
            let sql = format!(
                "select p.rowid from \"{parent}\" p where p.\"{to}\" in (
                     select t.\"{column}\" from \"{}\" t where t.rowid in (select value from json_each(?)))",
                table.name
            );
            let mut found =
                places(sqlx::query_scalar(AssertSqlSafe(sql)).bind(listed(children)), conn).await?;
            if parent == "client" {
                found.retain(|place| !unnamed.contains(place));
            }
            rows.entry(parent.clone()).or_default().extend(found);
        }
    }
    Ok(before < rows.values().map(BTreeSet::len).sum())
}
