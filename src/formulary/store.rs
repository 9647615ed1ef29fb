//! The SQL of the formulary: changes, confirmations, and what papers say of the practice.

use sqlx::SqliteExecutor;

use super::Word;
use crate::{
    clock::At,
    db::Tx,
    ids::{FormularyId, StaffId},
};

/// The latest change of a row.
#[derive(Debug, Clone)]
pub(super) struct Change {
    pub code: String,
    /// The newest row that was written; none where a shipped one was retired.
    pub row: Option<String>,
    pub retired: bool,
    pub count: i64,
    pub reason: String,
    pub by: String,
    pub at: At,
}

impl Change {
    pub(super) fn word(&self) -> Word {
        Word { by: self.by.clone(), at: self.at, text: self.reason.clone() }
    }
}

pub(super) async fn latest_changes(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Change>> {
    sqlx::query_as!(
        Change,
        r#"select c.code, (select r.row from formulary_change r where r.code = c.code and r.row is not null
                           order by r.rowid desc limit 1) as "row: String",
                  c.row is null as "retired!: bool",
                  (select count(*) from formulary_change n where n.code = c.code) as "count!: i64",
                  c.reason, s.name as by, c.at as "at: At"
           from formulary_change c join staff s on s.id = c.by_id
           where c.rowid = (select max(rowid) from formulary_change where code = c.code)"#
    )
    .fetch_all(db)
    .await
}

/// Every change of a row, the newest first: its JSON and the word about it.
pub(super) async fn changes_of(
    db: impl SqliteExecutor<'_>,
    code: &str,
) -> sqlx::Result<Vec<(Option<String>, Word)>> {
    let rows = sqlx::query!(
        r#"select c.row, c.reason, s.name as by, c.at as "at: At" from formulary_change c join staff s on s.id = c.by_id
           where c.code = ? order by c.rowid desc"#,
        code
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.row, Word { by: r.by, at: r.at, text: r.reason })).collect())
}

pub(super) async fn change(
    tx: &mut Tx,
    (code, row): (&str, Option<&str>),
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = FormularyId::new();
    sqlx::query!(
        "insert into formulary_change (id, code, row, reason, by_id, at) values (?, ?, ?, ?, ?, ?)",
        id,
        code,
        row,
        reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The last word about a row.
#[derive(Debug, Clone)]
pub(super) struct Confirmation {
    pub code: String,
    pub row: String,
    pub confirmed: bool,
    pub count: i64,
    pub read_in: String,
    pub by: String,
    pub at: At,
}

impl Confirmation {
    pub(super) fn word(&self) -> Word {
        Word { by: self.by.clone(), at: self.at, text: self.read_in.clone() }
    }
}

pub(super) async fn latest_confirmations(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Confirmation>> {
    sqlx::query_as!(
        Confirmation,
        r#"select c.code, c.row, c.confirmed as "confirmed: bool",
                  (select count(*) from formulary_confirmation n where n.code = c.code) as "count!: i64", c.read_in, s.name as by, c.at as "at: At"
           from formulary_confirmation c join staff s on s.id = c.by_id
           where c.rowid = (select max(rowid) from formulary_confirmation where code = c.code)"#
    )
    .fetch_all(db)
    .await
}

/// Confirms a row as it stands, from a text; or takes that back.
pub async fn confirm(
    tx: &mut Tx,
    (code, row): (&str, &str),
    read_in: Option<&str>,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let (id, confirmed, read_in) = (FormularyId::new(), read_in.is_some(), read_in.unwrap_or_default());
    sqlx::query!(
        "insert into formulary_confirmation (id, code, row, confirmed, read_in, by_id, at) values (?, ?, ?, ?, ?, ?, ?)",
        id,
        code,
        row,
        confirmed,
        read_in,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// What stands on papers of the practice.
#[derive(Debug, Clone, Default)]
pub struct Prescribing {
    /// Code of a jurisdiction of `data/care.toml`; empty until the practice has entered it.
    pub jurisdiction: String,
    pub address: String,
    pub phone: String,
    pub version: i64,
}

pub async fn prescribing(db: impl SqliteExecutor<'_>) -> sqlx::Result<Prescribing> {
    sqlx::query_as!(Prescribing, "select jurisdiction, address, phone, version from prescribing")
        .fetch_one(db)
        .await
}

/// Zero rows mean that somebody else was there first.
pub async fn set_prescribing(tx: &mut Tx, p: &Prescribing) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update prescribing set jurisdiction = ?, address = ?, phone = ?, version = version + 1 where version = ?",
        p.jurisdiction,
        p.address,
        p.phone,
        p.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What a veterinarian signs with; empty where nothing was entered.
pub async fn qualification(db: impl SqliteExecutor<'_>, vet: StaffId) -> sqlx::Result<String> {
    let found = sqlx::query_scalar!("select qualification from prescriber where staff_id = ?", vet);
    Ok(found.fetch_optional(db).await?.unwrap_or_default())
}

pub async fn set_qualification(tx: &mut Tx, vet: StaffId, words: &str) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into prescriber (staff_id, qualification) values (?, ?)
         on conflict (staff_id) do update set qualification = excluded.qualification",
        vet,
        words
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
