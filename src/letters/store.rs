//! The SQL of letters: those that were kept, and the practice's own words.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{LetterId, StaffId, VisitId},
};

/// A letter as it was kept.
#[derive(Debug, Clone)]
pub struct Kept {
    pub id: LetterId,
    pub visit_id: VisitId,
    /// Code of a letter of `letters.toml`, and how it was called.
    pub kind: String,
    pub name: String,
    pub addressee: String,
    pub words: String,
    pub by: String,
    pub at: At,
}

macro_rules! kept {
    ($which:literal, $value:expr) => {
        sqlx::query_as!(
            Kept,
            r#"select l.id as "id: LetterId", l.visit_id as "visit_id: VisitId", l.kind, l.name, l.addressee, l.words,
                      s.name as by, l.at as "at: At"
               from letter l join staff s on s.id = l.by_id where "#
                + $which
                + " order by l.at, l.id",
            $value
        )
    };
}

/// The letters of a visit, in the order in which they were kept.
pub async fn of_visit(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Kept>> {
    kept!("l.visit_id = ?", visit).fetch_all(db).await
}

pub(super) async fn get(db: impl SqliteExecutor<'_>, id: LetterId) -> sqlx::Result<Option<Kept>> {
    kept!("l.id = ?", id).fetch_optional(db).await
}

/// A letter on its way in.
pub(super) struct New<'a> {
    pub visit: VisitId,
    pub kind: &'a str,
    pub name: &'a str,
    pub addressee: &'a str,
    pub words: &'a str,
}

pub(super) async fn insert(tx: &mut Tx, new: &New<'_>, by: StaffId, now: At) -> sqlx::Result<LetterId> {
    let id = LetterId::new();
    sqlx::query!(
        "insert into letter (id, visit_id, kind, name, addressee, words, by_id, at) values (?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        new.visit,
        new.kind,
        new.name,
        new.addressee,
        new.words,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(id)
}

/// The practice's own words of a kind with their version; 0 and nothing while the proposed ones hold.
pub(super) async fn wording(db: impl SqliteExecutor<'_>, kind: &str) -> sqlx::Result<(Option<String>, i64)> {
    let row = sqlx::query!("select words, version from letter_wording where kind = ?", kind)
        .fetch_optional(db)
        .await?;
    Ok(row.map_or((None, 0), |row| (Some(row.words).filter(|words| !words.is_empty()), row.version)))
}

/// Empty words let the proposed ones hold again. Zero rows mean that somebody else was there first.
pub(super) async fn set_wording(
    tx: &mut Tx,
    (kind, words): (&str, &str),
    version: i64,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = if version == 0 {
        sqlx::query!(
            "insert or ignore into letter_wording (kind, words, changed_by, changed_at) values (?, ?, ?, ?)",
            kind,
            words,
            by,
            now
        )
        .execute(&mut **tx)
        .await?
    } else {
        sqlx::query!(
            "update letter_wording set words = ?, changed_by = ?, changed_at = ?, version = version + 1
             where kind = ? and version = ?",
            words,
            by,
            now,
            kind,
            version
        )
        .execute(&mut **tx)
        .await?
    };
    Ok(done.rows_affected())
}
