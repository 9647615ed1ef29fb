//! The SQL of photos.

use sqlx::SqliteExecutor;

use super::picture;
use crate::{
    clock::At,
    ids::{EntryId, VisitId},
};

/// A photo as a visit's pages show it.
#[derive(Debug, Clone)]
pub struct Photo {
    pub entry: EntryId,
    pub words: String,
    pub by: String,
    pub seen_at: At,
    kind: String,
}

impl Photo {
    /// Whether every browser shows it.
    pub fn shows_everywhere(&self) -> bool {
        picture::shows_everywhere(&self.kind)
    }
}

/// The photos of a visit in the order they were taken, without those that were taken back.
pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Photo>> {
    sqlx::query_as!(
        Photo,
        r#"select e.id as "entry: EntryId", coalesce(e.body ->> 'text', '') as "words!: String", s.name as by,
                  e.seen_at - e.offset_ms as "seen_at!: At", a.kind
           from entry e join attachment a on a.sha256 = e.body ->> 'value' join staff s on s.id = e.seen_by
           where e.visit_id = ? and e.kind = 'image' and a.kind like 'image/%'
             and not exists (select 1 from entry later where later.supersedes = e.id)
           order by e.seen_at - e.offset_ms, e.seq"#,
        visit
    )
    .fetch_all(db)
    .await
}

/// The file of one photo: its name and what it is.
pub(super) async fn file(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
    entry: EntryId,
) -> sqlx::Result<(String, String)> {
    let row = sqlx::query!(
        "select a.sha256, a.kind from entry e join attachment a on a.sha256 = e.body ->> 'value'
         where e.visit_id = ? and e.id = ? and e.kind = 'image' and a.kind like 'image/%'",
        visit,
        entry
    )
    .fetch_one(db)
    .await?;
    Ok((row.sha256, row.kind))
}
