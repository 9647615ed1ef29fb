//! The SQL of what was decided about wordings to callers.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{ApprovalId, StaffId},
};

/// The last word about a row.
#[derive(Debug, Clone)]
pub(super) struct Decision {
    pub code: String,
    pub wording: String,
    pub approved: bool,
    pub by: String,
    pub at: At,
}

/// The latest decision about every code that was ever decided about.
pub(super) async fn latest(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Decision>> {
    sqlx::query_as!(
        Decision,
        r#"select d.code, d.wording, d.approved as "approved: bool", s.name as by, d.decided_at as "at: At"
           from advice_decision d join staff s on s.id = d.decided_by
           where d.rowid = (select max(rowid) from advice_decision where code = d.code)"#
    )
    .fetch_all(db)
    .await
}

pub(super) async fn insert(
    tx: &mut Tx,
    (code, wording): (&str, &str),
    approved: bool,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = ApprovalId::new();
    sqlx::query!(
        "insert into advice_decision (id, code, wording, approved, decided_by, decided_at) values (?, ?, ?, ?, ?, ?)",
        id,
        code,
        wording,
        approved,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
