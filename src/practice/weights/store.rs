//! The SQL of the practice's own weights.

use sqlx::SqliteExecutor;

use crate::{catalogue::localise::Address, clock::At, db::Tx, ids::StaffId};

/// One number as the practice left it last.
#[derive(Debug, Clone)]
pub(super) struct Set {
    pub address: String,
    pub version: i64,
    /// None: back to the shipped value.
    pub value: Option<f64>,
    pub reason: String,
    pub by: String,
    pub at: At,
}

impl Set {
    pub(super) fn address(&self) -> Option<Address> {
        self.address.parse().ok()
    }
}

/// Every number that the practice ever set, as it stood then, in the order of the changes.
pub(super) async fn standing(db: impl SqliteExecutor<'_>, until: Option<At>) -> sqlx::Result<Vec<Set>> {
    let until = until.unwrap_or(At(i64::MAX));
    sqlx::query_as!(
        Set,
        r#"select w.address, w.version, w.value, w.reason, s.name as by, w.changed_at as "at: At"
           from practice_weight w join staff s on s.id = w.changed_by
           where w.version = (select max(version) from practice_weight
                              where address = w.address and changed_at <= ?)
           order by w.changed_at, w.address"#,
        until
    )
    .fetch_all(db)
    .await
}

/// How one number came to be, the latest first.
pub(super) async fn history(db: impl SqliteExecutor<'_>, address: &str) -> sqlx::Result<Vec<Set>> {
    sqlx::query_as!(
        Set,
        r#"select w.address, w.version, w.value, w.reason, s.name as by, w.changed_at as "at: At"
           from practice_weight w join staff s on s.id = w.changed_by
           where w.address = ? order by w.version desc"#,
        address
    )
    .fetch_all(db)
    .await
}

/// A change, to be kept.
#[derive(Debug)]
pub(super) struct Change<'a> {
    pub address: &'a str,
    pub version: i64,
    pub value: Option<f64>,
    pub reason: &'a str,
}

pub(super) async fn insert(tx: &mut Tx, change: &Change<'_>, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into practice_weight (address, version, value, reason, changed_by, changed_at)
         values (?, ?, ?, ?, ?, ?)",
        change.address,
        change.version,
        change.value,
        change.reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
