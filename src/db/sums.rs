//! A digest of each row. SQLite finds damage of its own structure and takes a changed letter for what was written; a
//! digest that was committed with the row does not.

use std::time::Instant;

use sha2::{Digest, Sha256};
use sqlx::{
    AssertSqlSafe, Row, SqliteConnection, TypeInfo, ValueRef,
    sqlite::{SqliteRow, SqliteValueRef},
};

use super::watch::Rows;
use crate::{checkup::Watch, record::hex};

/// What the tables are made by is summed like a row of a table, numbered by name: a copy has it in another order and
/// elsewhere in the file. Not what a program that copies the log keeps for itself.
const SCHEMA: &str = "sqlite_schema";
const SCHEMA_ROWS: &str =
    "(select row_number() over (order by type, name) as rowid, type, name, tbl_name, sql
    from sqlite_schema where tbl_name not like '~_litestream~_%' escape '~')";
/// Which tables have digests.
const SUMMED: &str = "schema = 'main' and type = 'table' and name not like 'sqlite~_%' escape '~'
    and name not like '~_litestream~_%' escape '~' and name <> 'row_sum'";
/// So many rows are read together.
const TOGETHER: i64 = 1000;
/// So many wrong rows of a table are told one by one.
const TOLD: usize = 20;

/// The tables whose rows have digests: all but that of the digests. What a virtual table keeps for itself is told by
/// SQLite's own check.
#[derive(Debug)]
pub(super) struct Sums(Vec<Table>);

#[derive(Debug)]
struct Table {
    of: i64,
    name: String,
    /// Where SQL finds its rows.
    source: String,
    /// Its columns as SQL lists them; what is generated from others says nothing of its own.
    columns: String,
}

impl Sums {
    /// The tables that have digests already.
    pub(super) async fn known(conn: &mut SqliteConnection) -> sqlx::Result<Sums> {
        let summed: Vec<(i64, String)> =
            sqlx::query_as("select of, name from summed order by of").fetch_all(&mut *conn).await?;
        let mut tables = Vec::new();
        for (of, name) in summed {
            let source = if name == SCHEMA { SCHEMA_ROWS.to_owned() } else { format!("\"{name}\"") };
            let columns = columns(conn, &name).await?;
            tables.push(Table { of, name, source, columns });
        }
        Ok(Sums(tables))
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Makes every digest anew, for tables that were changed as a whole.
    pub(super) async fn build(conn: &mut SqliteConnection) -> sqlx::Result<Sums> {
        sqlx::query("delete from row_sum").execute(&mut *conn).await?;
        sqlx::query("delete from summed").execute(&mut *conn).await?;
        sqlx::query(AssertSqlSafe(format!(
            "insert into summed (name) select name from pragma_table_list where {SUMMED}
             union all select '{SCHEMA}' order by name"
        )))
        .execute(&mut *conn)
        .await?;
        let sums = Sums::known(conn).await?;
        for table in &sums.0 {
            let mut last = i64::MIN;
            loop {
                let rows = table.after(conn, last).await?;
                let Some(end) = rows.last() else { break };
                last = end.try_get(0)?;
                put(conn, &table.summed(&rows)?).await?;
            }
        }
        Ok(sums)
    }

    /// Brings the digests of rows that were touched up to date.
    pub(super) async fn write(&self, conn: &mut SqliteConnection, touched: &Rows) -> sqlx::Result<()> {
        let mut there = Vec::new();
        for (table, rows) in self.touched(touched) {
            let places = serde_json::json!(rows).to_string();
            let sql = format!(
                "select t.rowid, {} from {} t where t.rowid in (select value from json_each(?))",
                table.columns, table.source
            );
            let found = sqlx::query(AssertSqlSafe(sql)).bind(&places).fetch_all(&mut *conn).await?;
            if found.len() < rows.len() {
                sqlx::query("delete from row_sum where of = ? and row in (select value from json_each(?))")
                    .bind(table.of)
                    .bind(&places)
                    .execute(&mut *conn)
                    .await?;
            }
            there.extend(table.summed(&found)?);
        }
        put(conn, &there).await
    }

    fn touched<'a>(
        &'a self,
        touched: &'a Rows,
    ) -> impl Iterator<Item = (&'a Table, &'a std::collections::BTreeSet<i64>)> {
        self.0.iter().filter_map(|table| Some((table, touched.get(&table.name)?)))
    }
}

/// A digest on its way in: its table, its row, and itself.
type Sum = (i64, i64, String);

async fn put(conn: &mut SqliteConnection, sums: &[Sum]) -> sqlx::Result<()> {
    if sums.is_empty() {
        return Ok(());
    }
    sqlx::query(
        "insert into row_sum (of, row, sum)
         select value ->> 0, value ->> 1, unhex(value ->> 2) from json_each(?) where true
         on conflict (of, row) do update set sum = excluded.sum",
    )
    .bind(serde_json::json!(sums).to_string())
    .execute(conn)
    .await?;
    Ok(())
}

async fn columns(conn: &mut SqliteConnection, table: &str) -> sqlx::Result<String> {
    if table == SCHEMA {
        return Ok("t.type, t.name, t.tbl_name, t.sql".to_owned());
    }
    let names: Vec<String> =
        sqlx::query_scalar("select name from pragma_table_xinfo(?) where hidden = 0 order by cid")
            .bind(table)
            .fetch_all(conn)
            .await?;
    Ok(names.iter().map(|name| format!("t.\"{name}\"")).collect::<Vec<_>>().join(", "))
}

impl Table {
    /// The rows behind `last`, by their numbers; the first column is the number.
    async fn after(&self, conn: &mut SqliteConnection, last: i64) -> sqlx::Result<Vec<SqliteRow>> {
        let sql = format!(
            "select t.rowid, {} from {} t where t.rowid > ? order by t.rowid limit {TOGETHER}",
            self.columns, self.source
        );
        sqlx::query(AssertSqlSafe(sql)).bind(last).fetch_all(conn).await
    }

    fn summed(&self, rows: &[SqliteRow]) -> sqlx::Result<Vec<Sum>> {
        rows.iter().map(|row| Ok((self.of, row.try_get(0)?, hex(&self.sum(row, row.len())?)))).collect()
    }

    /// Over the table, the row's number and the values of its columns up to `end`, each with its kind and its length.
    fn sum(&self, row: &SqliteRow, end: usize) -> sqlx::Result<[u8; 16]> {
        let mut sum = Sha256::new();
        sum.update(self.name.as_bytes());
        for at in 0..end {
            let value = row.try_get_raw(at)?;
            let (kind, bytes) = plain(row, at, &value)?;
            sum.update([kind]);
            sum.update((bytes.len() as u64).to_be_bytes());
            sum.update(bytes);
        }
        let whole: [u8; 32] = sum.finalize().into();
        let mut half = [0; 16];
        half.copy_from_slice(&whole[..16]);
        Ok(half)
    }

    /// What is wrong with its rows, in sentences.
    async fn verify(
        &self,
        conn: &mut SqliteConnection,
        watch: &Watch,
        faults: &mut Vec<String>,
    ) -> sqlx::Result<()> {
        let sql = format!(
            "select t.rowid, {}, s.sum from {} t left join row_sum s on s.of = ? and s.row = t.rowid
             where t.rowid > ? order by t.rowid limit {TOGETHER}",
            self.columns, self.source
        );
        let (mut last, mut wrong) = (i64::MIN, 0);
        loop {
            let began = Instant::now();
            let rows = sqlx::query(AssertSqlSafe(sql.as_str()))
                .bind(self.of)
                .bind(last)
                .fetch_all(&mut *conn)
                .await?;
            let Some(end) = rows.last() else { break };
            last = end.try_get(0)?;
            for row in &rows {
                let sum: Option<&[u8]> = row.try_get(row.len() - 1)?;
                if sum == Some(self.sum(row, row.len() - 1)?.as_slice()) {
                    continue;
                }
                wrong += 1;
                if wrong <= TOLD {
                    let number: i64 = row.try_get(0)?;
                    let what = if sum.is_some() {
                        "is not as it was written"
                    } else {
                        "was not written by this program"
                    };
                    faults.push(format!("{} row {number} {what}", self.name));
                }
            }
            watch.advance(rows.len() as u64);
            watch.rest(began).await;
        }
        if wrong > TOLD {
            faults.push(format!("{}: {} more rows are not as they were written", self.name, wrong - TOLD));
        }
        self.missing(conn, faults).await
    }

    async fn missing(&self, conn: &mut SqliteConnection, faults: &mut Vec<String>) -> sqlx::Result<()> {
        let sql = format!(
            "select s.row from row_sum s where s.of = ? and not exists (select 1 from {} t where t.rowid = s.row) limit {TOLD}",
            self.source
        );
        let gone: Vec<i64> = sqlx::query_scalar(AssertSqlSafe(sql)).bind(self.of).fetch_all(conn).await?;
        faults.extend(gone.iter().map(|row| format!("{} row {row} is missing", self.name)));
        Ok(())
    }
}

/// A value as bytes and what kind it is.
fn plain(row: &SqliteRow, at: usize, value: &SqliteValueRef<'_>) -> sqlx::Result<(u8, Vec<u8>)> {
    if value.is_null() {
        return Ok((0, Vec::new()));
    }
    Ok(match value.type_info().name() {
        "INTEGER" => (1, row.try_get_unchecked::<i64, _>(at)?.to_be_bytes().to_vec()),
        "REAL" => (2, row.try_get_unchecked::<f64, _>(at)?.to_be_bytes().to_vec()),
        "TEXT" => (3, row.try_get_unchecked::<&[u8], _>(at)?.to_vec()),
        _ => (4, row.try_get_unchecked::<&[u8], _>(at)?.to_vec()),
    })
}

/// How many digests there are.
pub(crate) async fn count(conn: &mut SqliteConnection) -> sqlx::Result<u64> {
    let rows: i64 = sqlx::query_scalar("select count(*) from row_sum").fetch_one(conn).await?;
    Ok(rows.unsigned_abs())
}

/// Holds every row against its digest; what does not agree, in sentences.
///
/// # Errors
/// The tables of the digests cannot be read.
pub(crate) async fn verify(conn: &mut SqliteConnection, watch: &Watch) -> sqlx::Result<Vec<String>> {
    let mut faults = Vec::new();
    let sums = Sums::known(conn).await?;
    if sums.is_empty() {
        faults.push("no row has a digest".to_owned());
    }
    for table in &sums.0 {
        if let Err(error) = table.verify(conn, watch, &mut faults).await {
            faults.push(format!("{} cannot be read: {error}", table.name));
        }
    }
    let strange: i64 =
        sqlx::query_scalar("select count(*) from row_sum where of not in (select of from summed)")
            .fetch_one(&mut *conn)
            .await?;
    if strange > 0 {
        faults.push(format!("{strange} digests are of no table"));
    }
    let unsummed: Vec<String> = sqlx::query_scalar(AssertSqlSafe(format!(
        "select name from pragma_table_list where {SUMMED} and name not in (select name from summed)"
    )))
    .fetch_all(conn)
    .await?;
    faults.extend(unsummed.iter().map(|name| format!("{name} is a table that this program did not make")));
    Ok(faults)
}
