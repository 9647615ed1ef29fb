//! The SQL of signing: what must be settled first, and the signature's mark on the visit.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{StaffId, VisitId},
};

/// An open case that was passed on and not yet answered.
#[derive(Debug, Clone)]
pub(super) struct OpenHandover {
    pub from: String,
    pub to: String,
    pub line: String,
}

pub(super) async fn open_handover(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
) -> sqlx::Result<Option<OpenHandover>> {
    sqlx::query_as!(
        OpenHandover,
        r#"select f.name as "from", t.name as "to", h.line
           from handover h join staff f on f.id = h.from_id join staff t on t.id = h.to_id
           where h.visit_id = ? and h.answered_at is null"#,
        visit
    )
    .fetch_optional(db)
    .await
}

/// Marks a visit as signed; zero rows mean that it was changed or signed meanwhile.
pub(super) async fn sign(
    tx: &mut Tx,
    visit: VisitId,
    version: i64,
    by: StaffId,
    at: At,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set state = 'signed', signed_by = ?, signed_at = ?, version = version + 1
         where id = ? and version = ? and state in ('in_hand', 'to_sign')",
        by,
        at,
        visit,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
