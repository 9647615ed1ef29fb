//! The SQL of videos; [`uploads`] is that of those on their way.

pub(super) mod uploads;

use sqlx::SqliteExecutor;

use crate::{
    attachments,
    clock::At,
    ids::{EntryId, HorseId, VisitId},
    papers::words,
};

/// A video as pages show it.
#[derive(Debug, Clone)]
pub struct Video {
    pub entry: EntryId,
    pub visit_id: VisitId,
    /// When the visit was.
    pub visit_at: At,
    pub words: String,
    /// What it shows: the code of the condition, empty where there is none; and the place.
    pub condition: String,
    pub region: Option<String>,
    pub side: Option<String>,
    pub limb: Option<String>,
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
            return (&self.region, &self.side, &self.limb) == (&other.region, &other.side, &other.limb);
        }
        self.condition == other.condition
    }

    /// `12.3 MB`
    pub fn size(&self) -> String {
        attachments::size(self.bytes)
    }

    /// "left fore fetlock, dorsal: video: swelling"
    pub fn said(&self) -> String {
        words::with_place(
            &words::place_words(self.region.as_deref(), self.side.as_deref(), self.limb.as_deref()),
            &self.words,
        )
    }
}

/// The videos of a horse, the newest first, without those that were taken back.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Video>> {
    sqlx::query_as!(
        Video,
        r#"select e.id as "entry: EntryId", e.visit_id as "visit_id: VisitId", v.starts_at as "visit_at: At",
                  coalesce(e.body ->> 'text', '') as "words!: String", coalesce(e.code, '') as "condition!: String",
                  e.region, e.side, e.limb,
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
