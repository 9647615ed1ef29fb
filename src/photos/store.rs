//! The SQL of photos.

use sqlx::SqliteExecutor;

use super::picture;
use crate::{
    clock::At,
    ids::{EntryId, HorseId, VisitId},
    papers::words,
};

/// A photo as pages show it.
#[derive(Debug, Clone)]
pub struct Photo {
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
    kind: String,
}

impl Photo {
    /// Whether every browser shows it.
    pub fn shows_everywhere(&self) -> bool {
        picture::shows_everywhere(&self.kind)
    }

    /// "left fore fetlock, dorsal"; empty for the whole horse.
    pub fn place(&self) -> String {
        words::place_words(self.region.as_deref(), self.side.as_deref(), self.limb.as_deref())
    }

    /// "left fore fetlock, dorsal: photo: swelling"
    pub fn said(&self) -> String {
        words::with_place(&self.place(), &self.words)
    }
}

/// The photos that a condition picks, without those that were taken back.
macro_rules! photos {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Photo,
            r#"select e.id as "entry: EntryId", e.visit_id as "visit_id: VisitId", v.starts_at as "visit_at: At",
                      coalesce(e.body ->> 'text', '') as "words!: String", coalesce(e.code, '') as "condition!: String",
                      e.region, e.side, e.limb, s.name as by, e.seen_at - e.offset_ms as "seen_at!: At", a.kind
               from visit v join entry e on e.visit_id = v.id join attachment a on a.sha256 = e.body ->> 'value'
                   join staff s on s.id = e.seen_by
               where "# + $which + " and e.kind = 'image' and a.kind like 'image/%'
                   and not exists (select 1 from entry later where later.supersedes = e.id)
               order by e.seen_at - e.offset_ms, e.seq",
            $($value),*
        )
    };
}

/// The photos of a visit in the order they were taken.
pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Photo>> {
    photos!("v.id = ?", visit).fetch_all(db).await
}

/// The photos of a horse that say what they show, in the order they were taken.
pub async fn placed_of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Photo>> {
    photos!("v.horse_id = ? and (e.code is not null or e.limb is not null or e.region is not null)", horse)
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
