//! The SQL of follow-ups.

use sqlx::SqliteExecutor;

use super::FollowUp;
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{FollowUpId, HorseId, StaffId, VisitId},
};

/// A follow-up on its way in.
#[derive(Debug, Clone)]
pub struct NewFollowUp {
    pub horse: HorseId,
    pub visit: Option<VisitId>,
    pub due_on: Day,
    pub what: String,
}

pub async fn insert(tx: &mut Tx, new: &NewFollowUp, by: StaffId, now: At) -> sqlx::Result<FollowUpId> {
    let id = FollowUpId::new();
    sqlx::query!(
        "insert into follow_up (id, horse_id, visit_id, due_on, what, created_by, created_at) values (?, ?, ?, ?, ?, ?, ?)",
        id,
        new.horse,
        new.visit,
        new.due_on,
        new.what,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(id)
}

/// A horse's open and booked follow-ups, the earliest first.
pub async fn open_of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<FollowUp>> {
    sqlx::query_as!(
        FollowUp,
        r#"select id as "id: FollowUpId", horse_id as "horse_id: HorseId", visit_id as "visit_id: VisitId",
                  due_on as "due_on: Day", what, state, booked_visit_id as "booked_visit_id: VisitId", reason, version
           from follow_up where horse_id = ? and state in ('open', 'booked') order by due_on"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// A follow-up whose visit was cancelled or did not come is open again.
pub async fn reopen(tx: &mut Tx, visit: VisitId) -> sqlx::Result<()> {
    sqlx::query!(
        "update follow_up set state = 'open', booked_visit_id = null, version = version + 1
         where booked_visit_id = ? and state = 'booked'",
        visit
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Notes the visit that was booked for a follow-up; one that was closed meanwhile stays as it is.
pub async fn book(tx: &mut Tx, id: FollowUpId, visit: VisitId) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update follow_up set state = 'booked', booked_visit_id = ?, version = version + 1
         where id = ? and state = 'open'",
        visit,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

pub async fn get(db: impl SqliteExecutor<'_>, id: FollowUpId) -> sqlx::Result<FollowUp> {
    sqlx::query_as!(
        FollowUp,
        r#"select id as "id: FollowUpId", horse_id as "horse_id: HorseId", visit_id as "visit_id: VisitId",
                  due_on as "due_on: Day", what, state, booked_visit_id as "booked_visit_id: VisitId", reason, version
           from follow_up where id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}
