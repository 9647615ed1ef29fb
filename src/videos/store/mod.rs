//! The SQL of videos; [`uploads`] is that of those on their way.

pub(super) mod uploads;

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    ids::{EntryId, HorseId, VisitId},
};

/// A video as pages show it.
#[derive(Debug, Clone)]
pub struct Video {
    pub entry: EntryId,
    pub visit_id: VisitId,
    /// When the visit was.
    pub visit_at: At,
    pub words: String,
    /// What it shows: the code of the condition, the region with side and limb; empty where there is none.
    pub condition: String,
    pub place: String,
    pub by: String,
    pub seen_at: At,
    pub sha256: String,
    /// Its media type.
    pub kind: String,
    pub bytes: i64,
}

impl Video {
    /// Whether the two show the same: the same condition, or the same place where no condition is said.
    pub fn shows_the_same(&self, other: &Video) -> bool {
        if self.condition.is_empty() && other.condition.is_empty() {
            return self.place == other.place;
        }
        self.condition == other.condition
    }

    /// `12.3 MB`
    pub fn size(&self) -> String {
        size(self.bytes)
    }
}

/// Megabytes, or kilobytes of what is small.
pub(super) fn size(bytes: i64) -> String {
    let kilo = (bytes + 1023) / 1024;
    if kilo < 1024 { format!("{kilo} KB") } else { format!("{}.{} MB", kilo / 1024, kilo % 1024 * 10 / 1024) }
}

/// The videos of a horse, the newest first, without those that were taken back.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Video>> {
    sqlx::query_as!(
        Video,
        r#"select e.id as "entry: EntryId", e.visit_id as "visit_id: VisitId", v.starts_at as "visit_at: At",
                  coalesce(e.body ->> 'text', '') as "words!: String", coalesce(e.code, '') as "condition!: String",
                  coalesce(e.region, '') || ' ' || coalesce(e.side, '') || ' ' || coalesce(e.limb, '') as "place!: String",
                  s.name as by, e.seen_at - e.offset_ms as "seen_at!: At", a.sha256, a.kind, a.bytes
           from visit v join entry e on e.visit_id = v.id join attachment a on a.sha256 = e.body ->> 'value'
               join staff s on s.id = e.seen_by
           where v.horse_id = ? and e.kind = 'image' and a.kind like 'video/%'
             and not exists (select 1 from entry later where later.supersedes = e.id)
           order by e.seen_at - e.offset_ms desc, e.seq desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// The horse that a video shows.
pub(super) async fn horse(db: impl SqliteExecutor<'_>, entry: EntryId) -> sqlx::Result<HorseId> {
    sqlx::query_scalar!(
        r#"select v.horse_id as "horse: HorseId" from entry e join visit v on v.id = e.visit_id where e.id = ?"#,
        entry
    )
    .fetch_one(db)
    .await
}

/// The file of a video, by its digest, and its media type.
pub(super) async fn file(db: impl SqliteExecutor<'_>, entry: EntryId) -> sqlx::Result<(String, String)> {
    let row = sqlx::query!(
        "select a.sha256, a.kind from entry e join attachment a on a.sha256 = e.body ->> 'value'
         where e.id = ? and e.kind = 'image' and a.kind like 'video/%'",
        entry
    )
    .fetch_one(db)
    .await?;
    Ok((row.sha256, row.kind))
}
