//! The SQL of the audit.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{AuditId, StaffId},
};

/// A line of it.
#[derive(Debug, Clone)]
pub struct Line {
    pub at: At,
    pub by: String,
    pub what: String,
    pub detail: String,
}

/// Notes what is done in this transaction.
pub async fn note(tx: &mut Tx, what: &str, detail: &str, by: StaffId, now: At) -> sqlx::Result<AuditId> {
    let id = AuditId::new();
    let detail: String = detail.chars().filter(|c| !c.is_control()).take(1000).collect();
    sqlx::query!(
        "insert into audit (id, at, by_id, what, detail) values (?, ?, ?, ?, ?)",
        id,
        now,
        by,
        what,
        detail
    )
    .execute(&mut **tx)
    .await?;
    super::chain::link_all(tx).await?;
    Ok(id)
}

/// The newest lines first, `limit` of them after the first `skip`.
pub async fn list(db: impl SqliteExecutor<'_>, skip: i64, limit: i64) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as!(
        Line,
        r#"select a.at as "at: At", s.name as by, a.what, a.detail
           from audit a join staff s on s.id = a.by_id order by a.at desc, a.id desc limit ? offset ?"#,
        limit,
        skip
    )
    .fetch_all(db)
    .await
}

/// The lines that name something, such as a horse's id, the oldest first.
pub async fn about(db: impl SqliteExecutor<'_>, named: &str) -> sqlx::Result<Vec<Line>> {
    sqlx::query_as!(
        Line,
        r#"select a.at as "at: At", s.name as by, a.what, a.detail
           from audit a join staff s on s.id = a.by_id where instr(a.detail, ?) > 0 order by a.at, a.id"#,
        named
    )
    .fetch_all(db)
    .await
}

/// What was done, by whom and when.
pub async fn one(db: impl SqliteExecutor<'_>, id: AuditId) -> sqlx::Result<(String, StaffId, At)> {
    let row =
        sqlx::query!(r#"select what, by_id as "by: StaffId", at as "at: At" from audit where id = ?"#, id)
            .fetch_one(db)
            .await?;
    Ok((row.what, row.by, row.at))
}

/// To what it was done.
pub async fn detail(db: impl SqliteExecutor<'_>, id: AuditId) -> sqlx::Result<String> {
    sqlx::query_scalar!("select detail from audit where id = ?", id).fetch_one(db).await
}
