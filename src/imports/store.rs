//! The SQL of imports: the file on its way in, its rows, and who is here already.

use std::collections::HashMap;

use anyhow::Context;
use serde_json::{Value, json};
use sqlx::{SqliteConnection, SqliteExecutor};

use super::{
    State,
    alike::{Alike, KnownClient, KnownHorse},
    read::{self, Table},
};
use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, HorseId, ImportId, StaffId, YardId},
};

/// So many rows share a statement.
const TOGETHER: usize = 500;

/// An import's row.
#[derive(Debug, Clone)]
pub struct Import {
    pub id: ImportId,
    pub name: String,
    pub header: Vec<String>,
    pub columns: Vec<String>,
    pub notes: Vec<String>,
    pub row_count: i64,
    /// `ask`, `same`, `new` or `leave`
    pub likely: String,
    pub state: State,
    pub fault: String,
    pub staged_by: String,
    pub staged_at: At,
    pub version: i64,
}

/// A row of the file and what is known of it.
#[derive(Debug, Clone, Default)]
pub struct Row {
    pub number: i64,
    pub line: i64,
    pub cells: Vec<String>,
    /// What is wrong with it as a row, and with its cells as what they are taken for.
    pub torn: String,
    pub wrong: String,
    pub client: Option<ClientId>,
    pub horse: Option<HorseId>,
    pub certain: bool,
    pub why: String,
    /// `same`, `new`, `leave`, or empty where nobody has said.
    pub choice: String,
    /// `entered`, `there`, `left`, `wrong`, or empty before the run.
    pub result: String,
    pub said: String,
}

impl Row {
    /// Everything that is wrong with it.
    pub fn faults(&self) -> String {
        format!("{} {}", self.torn, self.wrong).trim().to_owned()
    }

    pub fn is_wrong(&self) -> bool {
        !self.torn.is_empty() || !self.wrong.is_empty()
    }

    /// Somebody who is here already, perhaps.
    pub fn is_like(&self) -> bool {
        self.client.is_some() || self.horse.is_some()
    }
}

fn list(text: &str) -> Vec<String> {
    serde_json::from_str(text).unwrap_or_default()
}

macro_rules! imports {
    ($rest:tt $(, $value:expr)*) => {
        sqlx::query!(
            r#"select i.id as "id: ImportId", i.name, i.header, i.columns, i.notes, i.row_count, i.likely,
                      i.state as "state: State", i.fault, s.name as staged_by, i.staged_at as "staged_at: At", i.version
               from import i join staff s on s.id = i.staged_by "# + $rest
            $(, $value)*
        )
        .map(|r| Import {
            id: r.id,
            name: r.name,
            header: list(&r.header),
            columns: list(&r.columns),
            notes: list(&r.notes),
            row_count: r.row_count,
            likely: r.likely,
            state: r.state,
            fault: r.fault,
            staged_by: r.staged_by,
            staged_at: r.staged_at,
            version: r.version,
        })
    };
}

pub async fn get(db: impl SqliteExecutor<'_>, id: ImportId) -> sqlx::Result<Import> {
    imports!("where i.id = ?", id).fetch_one(db).await
}

/// The newest first.
pub async fn all(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Import>> {
    imports!("order by i.staged_at desc, i.id desc limit 200").fetch_all(db).await
}

/// Keeps a file that was read, with what its columns are taken for.
pub async fn insert(
    tx: &mut Tx,
    (name, table, columns): (&str, &Table, &[String]),
    by: StaffId,
    now: At,
) -> anyhow::Result<ImportId> {
    let id = ImportId::new();
    let (header, columns) = (serde_json::to_string(&table.header)?, serde_json::to_string(columns)?);
    let notes = serde_json::to_string(&table.notes)?;
    let count = i64::try_from(table.rows.len())?;
    sqlx::query!(
        "insert into import (id, name, header, columns, notes, row_count, staged_by, staged_at)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        name,
        header,
        columns,
        notes,
        count,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    let row = |(at, row): (usize, &read::Row)| {
        Ok(json!([id.to_string(), at + 1, row.line, serde_json::to_string(&row.cells)?, row.torn]))
    };
    let rows = table.rows.iter().enumerate().map(row).collect::<serde_json::Result<Vec<_>>>()?;
    let sql = "insert into import_row (import_id, number, line, cells, torn)
               select unhex(replace(value ->> 0, '-', '')), value ->> 1, value ->> 2, value ->> 3, value ->> 4 from json_each(?)";
    many(tx, sql, &rows, |_| ()).await?;
    Ok(id)
}

/// Runs a statement over rows that are handed in as JSON, some hundred at a time; `done` hears how many.
pub async fn many(
    conn: &mut SqliteConnection,
    sql: &'static str,
    rows: &[Value],
    done: impl Fn(usize),
) -> anyhow::Result<()> {
    for chunk in rows.chunks(TOGETHER) {
        let json = serde_json::to_string(chunk)?;
        sqlx::query(sql).bind(json).execute(&mut *conn).await.context("rows could not be written")?;
        done(chunk.len());
    }
    Ok(())
}

/// Says what the columns are; zero rows mean that somebody else was there first. The choices of rows are forgotten:
/// they were made about other columns.
pub async fn set_columns(tx: &mut Tx, id: ImportId, version: i64, columns: &[String]) -> anyhow::Result<u64> {
    let columns = serde_json::to_string(columns)?;
    let done = sqlx::query!(
        "update import set columns = ?, state = 'preview', fault = '', version = version + 1
         where id = ? and version = ? and state in ('columns', 'preview')",
        columns,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What was found out about each row.
pub async fn judge(tx: &mut Tx, id: ImportId, rows: &[(i64, String, Alike)]) -> anyhow::Result<()> {
    let hex = |id: Option<String>| id.unwrap_or_default();
    let rows: Vec<Value> = rows
        .iter()
        .map(|(number, wrong, alike)| {
            let client = hex(alike.client.map(|id| id.to_string()));
            let horse = hex(alike.horse.map(|id| id.to_string()));
            json!([id.to_string(), number, wrong, client, horse, i32::from(alike.certain), alike.why])
        })
        .collect();
    // The rows are there: it is always the conflict that is written.
    let sql = "insert into import_row (import_id, number, line, cells, wrong, client_id, horse_id, certain, why)
               select unhex(replace(value ->> 0, '-', '')), value ->> 1, 0, '[]', value ->> 2,
                      nullif(unhex(replace(value ->> 3, '-', '')), x''), nullif(unhex(replace(value ->> 4, '-', '')), x''),
                      value ->> 5, value ->> 6
               from json_each(?) where true
               on conflict (import_id, number) do update set wrong = excluded.wrong, client_id = excluded.client_id,
                   horse_id = excluded.horse_id, certain = excluded.certain, why = excluded.why, choice = ''";
    many(tx, sql, &rows, |_| ()).await
}

/// The rows that a filter picks, by their number, `limit` of them after the first `skip`.
///
/// `ask`: may be somebody and nobody has decided; `like`: may be somebody; `wrong`; `new`; anything else is all.
pub async fn rows(
    db: impl SqliteExecutor<'_>,
    id: ImportId,
    filter: &str,
    (skip, limit): (i64, i64),
) -> sqlx::Result<Vec<Row>> {
    let rows = sqlx::query!(
        r#"select number, line, cells, torn, wrong, client_id as "client: ClientId", horse_id as "horse: HorseId",
                  certain as "certain: bool", why, choice, result, said
           from import_row
           where import_id = ?1 and case ?2
               when 'wrong' then torn || wrong <> ''
               when 'ask' then torn || wrong = '' and coalesce(client_id, horse_id) is not null and certain = 0 and choice = ''
               when 'like' then torn || wrong = '' and coalesce(client_id, horse_id) is not null
               when 'new' then torn || wrong = '' and coalesce(client_id, horse_id) is null
               when 'back' then result in ('wrong', 'left')
               else true end
           order by number limit ?4 offset ?3"#,
        id,
        filter,
        skip,
        limit
    )
    .fetch_all(db)
    .await?;
    let rows = rows.into_iter().map(|r| Row {
        number: r.number,
        line: r.line,
        cells: list(&r.cells),
        torn: r.torn,
        wrong: r.wrong,
        client: r.client,
        horse: r.horse,
        certain: r.certain,
        why: r.why,
        choice: r.choice,
        result: r.result,
        said: r.said,
    });
    Ok(rows.collect())
}

/// How many rows are of which kind.
#[derive(Debug, Clone, Default)]
pub struct Counts {
    pub wrong: i64,
    /// May be somebody, and it has to be decided.
    pub ask: i64,
    pub like: i64,
    pub new: i64,
    pub entered: i64,
    pub there: i64,
    pub left: i64,
}

pub async fn counts(db: impl SqliteExecutor<'_>, id: ImportId) -> sqlx::Result<Counts> {
    sqlx::query_as!(
        Counts,
        r#"select coalesce(sum(torn || wrong <> ''), 0) as "wrong!: i64",
                  coalesce(sum(torn || wrong = '' and coalesce(client_id, horse_id) is not null and certain = 0 and choice = ''), 0) as "ask!: i64",
                  coalesce(sum(torn || wrong = '' and coalesce(client_id, horse_id) is not null), 0) as "like!: i64",
                  coalesce(sum(torn || wrong = '' and coalesce(client_id, horse_id) is null), 0) as "new!: i64",
                  coalesce(sum(result = 'entered'), 0) as "entered!: i64",
                  coalesce(sum(result = 'there'), 0) as "there!: i64",
                  coalesce(sum(result = 'left'), 0) as "left!: i64"
           from import_row where import_id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

/// Notes what becomes of rows that may be somebody: by rule, and of some rows by hand.
pub async fn decide(
    tx: &mut Tx,
    id: ImportId,
    version: i64,
    likely: &str,
    rows: &[(i64, String)],
) -> anyhow::Result<u64> {
    let done = sqlx::query!(
        "update import set likely = ?, fault = '', version = version + 1 where id = ? and version = ? and state = 'preview'",
        likely,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    for (number, choice) in rows {
        sqlx::query!(
            "update import_row set choice = ? where import_id = ? and number = ?",
            choice,
            id,
            number
        )
        .execute(&mut **tx)
        .await?;
    }
    Ok(done.rows_affected())
}

/// Moves an import on; zero rows mean that somebody else was there first.
pub async fn set_state(
    tx: &mut Tx,
    id: ImportId,
    version: i64,
    (from, to): (State, State),
    (by, now): (StaffId, At),
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update import set state = ?, fault = '', ended_by = ?, ended_at = ?, version = version + 1
         where id = ? and version = ? and state = ?",
        to,
        by,
        now,
        id,
        version,
        from
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A run came to nothing: the import is to be looked at again.
pub async fn failed(tx: &mut Tx, id: ImportId, fault: &str) -> sqlx::Result<()> {
    sqlx::query!(
        "update import set state = 'preview', fault = ?, version = version + 1 where id = ? and state = 'running'",
        fault,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Takes away a file of which nothing was entered.
pub async fn drop_it(tx: &mut Tx, id: ImportId, version: i64) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "delete from import where id = ? and version = ? and state in ('columns', 'preview')",
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Everybody who is here, as far as rows are compared with them.
pub async fn everybody(conn: &mut SqliteConnection) -> sqlx::Result<(Vec<KnownClient>, Vec<KnownHorse>)> {
    let mut phones: HashMap<ClientId, Vec<String>> = HashMap::new();
    let rows = sqlx::query!(r#"select client_id as "client: ClientId", digits from client_phone"#);
    for row in rows.fetch_all(&mut *conn).await? {
        phones.entry(row.client).or_default().push(row.digits);
    }
    let clients = sqlx::query!(r#"select id as "id: ClientId", name, email from client"#)
        .fetch_all(&mut *conn)
        .await?
        .into_iter()
        .map(|r| KnownClient {
            phones: phones.remove(&r.id).unwrap_or_default(),
            id: r.id,
            name: r.name,
            email: r.email,
        })
        .collect();
    let mut parties: HashMap<HorseId, Vec<ClientId>> = HashMap::new();
    let rows = sqlx::query!(
        r#"select distinct horse_id as "horse: HorseId", client_id as "client: ClientId" from party"#
    );
    for row in rows.fetch_all(&mut *conn).await? {
        parties.entry(row.horse).or_default().push(row.client);
    }
    let horses = sqlx::query!(
        r#"select id as "id: HorseId", name, microchip, ueln from horse where status <> 'dead'"#
    )
    .fetch_all(&mut *conn)
    .await?
    .into_iter()
    .map(|r| KnownHorse {
        clients: parties.remove(&r.id).unwrap_or_default(),
        id: r.id,
        name: r.name,
        microchip: r.microchip,
        ueln: r.ueln,
    })
    .collect();
    Ok((clients, horses))
}

/// The yards by name.
pub async fn yards(conn: &mut SqliteConnection) -> sqlx::Result<Vec<(YardId, String)>> {
    let rows = sqlx::query!(r#"select id as "id: YardId", name from yard"#).fetch_all(conn).await?;
    Ok(rows.into_iter().map(|r| (r.id, r.name)).collect())
}
