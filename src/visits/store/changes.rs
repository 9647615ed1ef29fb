//! The SQL of a visit's own history: who booked, moved, cancelled or began it, and why.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{ChangeId, StaffId, VisitId},
};

/// One line of it.
#[derive(Debug, Clone)]
pub struct Change {
    pub at: At,
    pub by: String,
    pub what: String,
    pub detail: String,
    pub reason: String,
}

/// A line on its way in.
#[derive(Debug, Clone, Copy)]
pub struct NewChange<'a> {
    pub visit: VisitId,
    pub what: &'a str,
    pub detail: &'a str,
    pub reason: &'a str,
}

pub async fn note(tx: &mut Tx, new: NewChange<'_>, by: StaffId, now: At) -> sqlx::Result<()> {
    let id = ChangeId::new();
    sqlx::query!(
        "insert into visit_change (id, visit_id, at, by_id, what, detail, reason) values (?, ?, ?, ?, ?, ?, ?)",
        id,
        new.visit,
        now,
        by,
        new.what,
        new.detail,
        new.reason
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The visit's history, the first thing first.
pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Change>> {
    sqlx::query_as!(
        Change,
        r#"select c.at as "at: At", s.name as by, c.what, c.detail, c.reason
           from visit_change c join staff s on s.id = c.by_id where c.visit_id = ? order by c.at, c.rowid"#,
        visit
    )
    .fetch_all(db)
    .await
}
