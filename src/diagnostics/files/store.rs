//! The SQL of files at results.

use sqlx::SqliteExecutor;

use crate::ids::{EntryId, OrderId};

/// What is known of a file beside its entry.
#[derive(Debug, Clone)]
pub(crate) struct Filed {
    pub entry: EntryId,
    pub sha256: String,
    /// Its media type.
    pub kind: String,
    pub bytes: i64,
}

/// The files of an order, those included that were taken back.
pub(crate) async fn of_order(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Vec<Filed>> {
    let key = order.to_string();
    sqlx::query_as!(
        Filed,
        r#"select e.id as "entry: EntryId", a.sha256, a.kind, a.bytes
           from entry e join attachment a on a.sha256 = e.body ->> 'value'
           where e.order_id = ? and e.kind = 'file' order by e.seq"#,
        key
    )
    .fetch_all(db)
    .await
}
