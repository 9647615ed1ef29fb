//! One table as lines.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::Context;
use sqlx::{AssertSqlSafe, Row, SqliteConnection};

use super::{making::Making, row, schema::Table};

/// Rows that are read at once.
const TOGETHER: i64 = 500;

/// The rows of each table that are taken, by their places.
pub(super) type Rows = BTreeMap<String, BTreeSet<i64>>;

/// Places as SQL takes them in.
pub(super) fn listed(places: &BTreeSet<i64>) -> String {
    serde_json::to_string(places).unwrap_or_default()
}

/// Writes the rows of a table, or those of them that were picked, in the order in which they were made.
pub(super) async fn write(
    conn: &mut SqliteConnection,
    making: &mut Making,
    table: &Table,
    picked: Option<&Rows>,
) -> anyhow::Result<()> {
    making.begin(&format!("tables/{}.jsonl", table.name), false)?;
    making.count(0);
    match picked {
        None => every(conn, making, table).await,
        Some(rows) => match rows.get(&table.name) {
            Some(places) => some(conn, making, table, places).await,
            None => Ok(()),
        },
    }
    .with_context(|| format!("the table {}", table.name))
}

async fn every(conn: &mut SqliteConnection, making: &mut Making, table: &Table) -> anyhow::Result<()> {
    let (name, listed) = (&table.name, table.listed());
    let sql = format!(
        "select rowid as place_, {listed} from \"{name}\" where rowid > ? order by rowid limit {TOGETHER}"
    );
    let mut place = i64::MIN;
    loop {
        let rows = sqlx::query(AssertSqlSafe(sql.clone())).bind(place).fetch_all(&mut *conn).await?;
        for one in &rows {
            making.row(row::to_line(one, &table.columns, 1)?).await?;
        }
        let Some(last) = rows.last() else { return Ok(()) };
        place = last.try_get(0)?;
    }
}

async fn some(
    conn: &mut SqliteConnection,
    making: &mut Making,
    table: &Table,
    places: &BTreeSet<i64>,
) -> anyhow::Result<()> {
    let sql = format!(
        "select {} from \"{}\" where rowid in (select value from json_each(?)) order by rowid",
        table.listed(),
        table.name
    );
    for one in sqlx::query(AssertSqlSafe(sql)).bind(self::listed(places)).fetch_all(conn).await? {
        making.row(row::to_line(&one, &table.columns, 0)?).await?;
    }
    Ok(())
}
