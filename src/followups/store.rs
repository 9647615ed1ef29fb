//! The SQL of follow-ups.

use sqlx::SqliteExecutor;

use super::FollowUp;
use crate::{
    clock::{At, Day},
    db::Tx,
    horses::Status,
    ids::{FollowUpId, HorseId, StaffId, VisitId},
    visits::State,
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

/// What a visit promised belongs to the horse that the visit turned out to be of.
pub async fn go_with_visit(tx: &mut Tx, visit: VisitId, horse: HorseId) -> sqlx::Result<()> {
    sqlx::query!("update follow_up set horse_id = ?, version = version + 1 where visit_id = ?", horse, visit)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Moves one that is open or booked to another day, with its words; zero rows mean that it was closed.
pub async fn redate(tx: &mut Tx, id: FollowUpId, due_on: Day, what: &str) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update follow_up set due_on = ?, what = ?, version = version + 1
         where id = ? and state in ('open', 'booked')",
        due_on,
        what,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A follow-up on the desk's list.
#[derive(Debug, Clone)]
pub struct Due {
    pub id: FollowUpId,
    pub horse_id: HorseId,
    pub horse: String,
    pub status: Status,
    pub due_on: Day,
    pub what: String,
    pub version: i64,
    pub owner: Option<String>,
    pub phone: Option<String>,
    /// The visit that was booked for it.
    pub visit_id: Option<VisitId>,
    pub visit_at: Option<At>,
    pub visit_state: Option<State>,
}

impl Due {
    /// The owner's number as a telephone dials it.
    pub fn dial(&self) -> String {
        let number = self.phone.as_deref().unwrap_or_default();
        number.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect()
    }
}

/// Everything open or booked, the earliest first.
pub async fn open(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Due>> {
    sqlx::query_as!(
        Due,
        r#"select f.id as "id: FollowUpId", f.horse_id as "horse_id: HorseId", h.name as horse, h.status as "status: Status",
                  f.due_on as "due_on: Day", f.what, f.version, c.name as "owner?",
                  (select number from client_phone where client_id = c.id order by position limit 1) as "phone: String",
                  v.id as "visit_id?: VisitId", v.starts_at as "visit_at?: At", v.state as "visit_state?: State"
           from follow_up f
           join horse h on h.id = f.horse_id
           left join client c on c.id = (select client_id from party where horse_id = h.id and role = 'owner'
                                         order by created_at limit 1)
           left join visit v on v.id = f.booked_visit_id
           where f.state in ('open', 'booked') order by f.due_on, h.name"#
    )
    .fetch_all(db)
    .await
}

/// How a follow-up ends: `done`, or `dropped` with a reason.
#[derive(Debug, Clone, Copy)]
pub struct Closing<'a> {
    pub state: &'static str,
    pub reason: &'a str,
    pub by: StaffId,
    pub at: At,
}

/// Closes one that still has `version`; zero rows mean that somebody else was there first.
pub async fn close(tx: &mut Tx, id: FollowUpId, version: i64, closing: &Closing<'_>) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update follow_up set state = ?, reason = ?, closed_by = ?, closed_at = ?, version = version + 1
         where id = ? and version = ? and state in ('open', 'booked')",
        closing.state,
        closing.reason,
        closing.by,
        closing.at,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
