//! The SQL of merging: everything that points at a row points at another one, and the trace of it.

use sqlx::{AssertSqlSafe, SqliteConnection, SqliteExecutor};
use uuid::Uuid;

use super::Kind;
use crate::{
    clock::At,
    db::Tx,
    ids::{HorseId, StaffId},
};

/// A row that went into another.
#[derive(Debug, Clone)]
pub struct Trace {
    pub name: String,
    pub by: String,
    pub at: At,
    pub reason: String,
}

/// What was put together with a row, the newest first.
pub async fn traces(db: impl SqliteExecutor<'_>, kept: Uuid) -> sqlx::Result<Vec<Trace>> {
    sqlx::query_as!(
        Trace,
        r#"select coalesce(m.old_row ->> 'name', '') as "name!: String", s.name as by, m.at as "at: At", m.reason
           from merged m join staff s on s.id = m.by_id where m.kept_id = ? order by m.at desc"#,
        kept
    )
    .fetch_all(db)
    .await
}

/// The row that an id stands for today; `None` when it went nowhere.
pub async fn kept(db: impl SqliteExecutor<'_>, id: Uuid) -> sqlx::Result<Option<Uuid>> {
    sqlx::query_scalar!(r#"select kept_id as "id: Uuid" from merged where old_id = ?"#, id)
        .fetch_optional(db)
        .await
}

/// The horse that an id stands for today.
pub async fn kept_horse(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<HorseId> {
    let kept = sqlx::query_scalar!(
        r#"select kept_id as "id: HorseId" from merged where old_id = ? and kind = 'horse'"#,
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(kept.unwrap_or(id))
}

/// Every id by which a horse was ever known, its own first.
pub async fn ids_of_horse(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<Vec<HorseId>> {
    let old = sqlx::query_scalar!(
        r#"select old_id as "id: HorseId" from merged where kept_id = ? and kind = 'horse'"#,
        id
    )
    .fetch_all(db)
    .await?;
    Ok(std::iter::once(id).chain(old).collect())
}

/// Every table and column that points at rows of a kind.
async fn references(conn: &mut SqliteConnection, kind: Kind) -> sqlx::Result<Vec<(String, String)>> {
    sqlx::query_as(
        r#"select m.name, f."from" from sqlite_master m, pragma_foreign_key_list(m.name) f
           where m.type = 'table' and f."table" = ? order by m.name"#,
    )
    .bind(kind.key())
    .fetch_all(conn)
    .await
}

/// Phones and addresses are shown by themselves.
const SHOWN: [&str; 2] = ["client_phone", "client_address"];

/// How much hangs on a row, in words.
pub(super) async fn hangs(conn: &mut SqliteConnection, kind: Kind, id: Uuid) -> sqlx::Result<Vec<String>> {
    let mut found = Vec::new();
    for (table, column) in references(conn, kind).await? {
        if SHOWN.contains(&table.as_str()) {
            continue;
        }
        let sql = format!("select count(*) from \"{table}\" where \"{column}\" = ?");
        let count: i64 = sqlx::query_scalar(AssertSqlSafe(sql)).bind(id).fetch_one(&mut *conn).await?;
        if count > 0 {
            found.push(format!("{count} × {}", words(kind, &table)));
        }
    }
    Ok(found)
}

/// What rows of a table are called.
fn words(kind: Kind, table: &str) -> String {
    let known = match (kind, table) {
        (_, "visit") => "visit",
        (Kind::Client, "party") => "horse",
        (Kind::Horse, "party") => "person of the horse",
        (_, "party_past") => "former tie",
        (_, "horse_weight") => "weight",
        (_, "follow_up") => "follow-up",
        (_, "contact_wish") => "wish about contacts",
        (_, other) => return other.replace('_', " "),
    };
    known.to_owned()
}

/// A row on its way into another.
pub(super) struct Going {
    pub kind: Kind,
    pub old: Uuid,
    pub kept: Uuid,
}

/// Lets everything that points at the old row point at the kept one, and takes the old row away.
pub(super) async fn repoint(tx: &mut Tx, going: &Going) -> sqlx::Result<()> {
    let Going { kind, old, kept } = going;
    for (table, column) in references(tx, *kind).await? {
        match table.as_str() {
            // The kept row has them by now.
            "client_phone" | "client_address" => {
                let sql = format!("delete from {table} where client_id = ?");
                sqlx::query(AssertSqlSafe(sql)).bind(old).execute(&mut **tx).await?;
            }
            "party" => parties(tx, &column, *old, *kept).await?,
            _ => {
                let sql = format!("update \"{table}\" set \"{column}\" = ?1 where \"{column}\" = ?2");
                sqlx::query(AssertSqlSafe(sql)).bind(kept).bind(old).execute(&mut **tx).await?;
            }
        }
    }
    let sql = format!("delete from {} where id = ?", kind.key());
    sqlx::query(AssertSqlSafe(sql)).bind(old).execute(&mut **tx).await?;
    Ok(())
}

/// Ties of both: where both have the same, the one that stays may and gets what either did.
async fn parties(tx: &mut Tx, column: &str, old: Uuid, kept: Uuid) -> sqlx::Result<()> {
    let other = if column == "horse_id" { "client_id" } else { "horse_id" };
    let both = format!(
        "update party set may_authorise = max(party.may_authorise, o.may_authorise), pays = max(party.pays, o.pays),
                gets_reports = max(party.gets_reports, o.gets_reports)
         from (select {other} as beside, role, may_authorise, pays, gets_reports from party where {column} = ?2) o
         where party.{column} = ?1 and party.{other} = o.beside and party.role = o.role"
    );
    sqlx::query(AssertSqlSafe(both)).bind(kept).bind(old).execute(&mut **tx).await?;
    let over = format!("update or ignore party set {column} = ?1 where {column} = ?2");
    sqlx::query(AssertSqlSafe(over)).bind(kept).bind(old).execute(&mut **tx).await?;
    let rest = format!("delete from party where {column} = ?");
    sqlx::query(AssertSqlSafe(rest)).bind(old).execute(&mut **tx).await?;
    Ok(())
}

/// A merge on its way into the trace.
pub(super) struct NewTrace<'a> {
    pub going: &'a Going,
    pub old_row: &'a str,
    pub kept_row: &'a str,
    pub reason: &'a str,
}

/// Leaves the trace; what led to the old row leads to the kept one.
pub(super) async fn trace(tx: &mut Tx, new: &NewTrace<'_>, by: StaffId, now: At) -> sqlx::Result<()> {
    let Going { kind, old, kept } = new.going;
    sqlx::query!("update merged set kept_id = ? where kept_id = ?", kept, old).execute(&mut **tx).await?;
    sqlx::query!(
        "insert into merged (old_id, kind, kept_id, old_row, kept_row, reason, by_id, at) values (?, ?, ?, ?, ?, ?, ?, ?)",
        old,
        kind,
        kept,
        new.old_row,
        new.kept_row,
        new.reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The kept horse is what the other one was: here, retired, sold or dead, since its day.
pub(super) async fn take_status(tx: &mut Tx, kept: HorseId, other: HorseId) -> sqlx::Result<()> {
    sqlx::query!(
        "update horse set (status, status_on) = (select status, status_on from horse where id = ?2) where id = ?1",
        kept,
        other
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
