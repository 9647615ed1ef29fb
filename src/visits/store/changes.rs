//! The SQL of a visit's own history: who booked, moved, cancelled or began it, and why.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{ChangeId, HorseId, StaffId, VisitId},
    merging,
};

/// What the history says of a visit that went to another horse.
pub const TO_RIGHT_HORSE: &str = "moved to the right horse";

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

/// A visit that was entered under the wrong horse, and where it went.
#[derive(Debug, Clone)]
pub struct Move {
    pub visit: VisitId,
    pub starts_at: At,
    pub at: At,
    pub by: String,
    /// "from Ladle to Dunlin"
    pub detail: String,
}

/// The visits that were moved to or from this horse, the newest move first: the fact alone.
pub async fn moves_of_horse(db: &sqlx::SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Move>> {
    // An entry names the horse as it was called by then: it may have been put together with another row since.
    let ids = merging::store::ids_of_horse(db, horse).await?;
    let ids: Vec<String> = ids.iter().map(ToString::to_string).collect();
    let ids = serde_json::to_string(&ids).map_err(|error| sqlx::Error::Encode(error.into()))?;
    sqlx::query_as!(
        Move,
        r#"select c.visit_id as "visit: VisitId", v.starts_at as "starts_at: At", c.at as "at: At", s.name as by,
                  c.detail
           from visit_change c join visit v on v.id = c.visit_id join staff s on s.id = c.by_id
           where c.what = ?1 and exists (
               select 1 from entry e where e.visit_id = c.visit_id and e.kind = 'moved' and e.received_at = c.at
                   and (e.body ->> 'from_horse' in (select value from json_each(?2))
                        or e.body ->> 'to_horse' in (select value from json_each(?2))))
           order by c.at desc"#,
        TO_RIGHT_HORSE,
        ids
    )
    .fetch_all(db)
    .await
}
