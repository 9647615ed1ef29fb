//! The SQL of procedures: what was measured on a horse's feet.

use sqlx::SqliteExecutor;

use crate::{clock::At, ids::HorseId, record::Body};

/// What was measured on radiographs of the feet and stands, the newest first.
pub(super) async fn feet(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<(At, Body)>> {
    let rows = sqlx::query!(
        r#"select e.seen_at as "at: At", e.body as "body!"
           from visit v
           join entry e on e.visit_id = v.id and e.kind = 'measured' and e.code = 'foot' and e.body is not null
           where v.horse_id = ? and not exists (select 1 from entry n where n.supersedes = e.id)
           order by e.seen_at desc, e.seq desc limit 20"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let body = |text: &str| serde_json::from_str(text).map_err(|e| sqlx::Error::Decode(e.into()));
    rows.into_iter().map(|row| Ok((row.at, body(&row.body)?))).collect()
}
