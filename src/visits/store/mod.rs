//! The SQL of visits: the row itself. What hangs on it has a file each.

pub mod booking;
pub mod changes;
pub mod day;
pub mod handover;
pub mod stop;

use sqlx::SqliteExecutor;

use super::{Complaint, State, Visit};
use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, ComplaintId, HorseId, StaffId, StopId, VisitId, YardId},
};

pub async fn get(db: impl SqliteExecutor<'_>, id: VisitId) -> sqlx::Result<Visit> {
    sqlx::query_as!(
        Visit,
        r#"select v.id as "id: VisitId", v.horse_id as "horse_id: HorseId", v.client_id as "client_id: ClientId",
                  v.vet_id as "vet_id: StaffId", s.name as "vet?", v.place, v.yard_id as "yard_id: YardId",
                  v.starts_at as "starts_at: At", v.minutes, v.urgent as "urgent: bool", v.walk_in as "walk_in: bool",
                  v.stop_id as "stop_id: StopId", v.state as "state: State", v.signed_by as "signed_by: StaffId", v.signed_at as "signed_at: At", v.version
           from visit v left join staff s on s.id = v.vet_id
           where v.id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

/// What the caller said, in the order it was taken down.
pub async fn complaints(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Complaint>> {
    sqlx::query_as!(
        Complaint,
        r#"select id as "id: ComplaintId", words, site, since, onset, course, weight_bearing, shod_on, medicines, work,
                  version
           from complaint where visit_id = ? order by position"#,
        visit
    )
    .fetch_all(db)
    .await
}

/// The visits of a horse, newest first.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Visit>> {
    sqlx::query_as!(
        Visit,
        r#"select v.id as "id: VisitId", v.horse_id as "horse_id: HorseId", v.client_id as "client_id: ClientId",
                  v.vet_id as "vet_id: StaffId", s.name as "vet?", v.place, v.yard_id as "yard_id: YardId",
                  v.starts_at as "starts_at: At", v.minutes, v.urgent as "urgent: bool", v.walk_in as "walk_in: bool",
                  v.stop_id as "stop_id: StopId", v.state as "state: State", v.signed_by as "signed_by: StaffId", v.signed_at as "signed_at: At", v.version
           from visit v left join staff s on s.id = v.vet_id
           where v.horse_id = ? order by v.starts_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// A visit on its way in.
#[derive(Debug, Clone)]
pub struct NewVisit {
    pub id: VisitId,
    pub horse: HorseId,
    /// Who called about it.
    pub client: Option<ClientId>,
    pub vet: Option<StaffId>,
    /// `yard` or `clinic`
    pub place: &'static str,
    pub yard: Option<YardId>,
    pub starts_at: At,
    pub minutes: i64,
    pub urgent: bool,
    pub walk_in: bool,
    /// What it shares with other visits of its yard.
    pub stop: Option<StopId>,
    /// Any but signed: a signature is given to a visit that is there.
    pub state: State,
}

/// Puts a visit on the day. A booking over another one of its vet fails: see [`is_overlap`].
pub async fn insert(tx: &mut Tx, new: &NewVisit, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into visit (id, horse_id, client_id, vet_id, place, yard_id, starts_at, minutes, urgent, walk_in, stop_id,
                            state, created_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.horse,
        new.client,
        new.vet,
        new.place,
        new.yard,
        new.starts_at,
        new.minutes,
        new.urgent,
        new.walk_in,
        new.stop,
        new.state,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Whether a write was refused because its vet is elsewhere at that time.
pub fn is_overlap(error: &sqlx::Error) -> bool {
    error.as_database_error().is_some_and(|e| e.message().contains("vet_overlap"))
}

/// Moves a visit on; zero rows mean that somebody else was there first.
pub async fn set_state(tx: &mut Tx, id: VisitId, from: State, to: State) -> sqlx::Result<u64> {
    // The vet is named so that a visit that goes back to booked is looked at for overlaps again.
    let done = sqlx::query!(
        "update visit set state = ?, vet_id = vet_id, version = version + 1 where id = ? and state = ?",
        to,
        id,
        from
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Gives a visit that nobody has yet to this vet.
pub async fn take(tx: &mut Tx, id: VisitId, vet: StaffId) -> sqlx::Result<()> {
    sqlx::query!("update visit set vet_id = ? where id = ? and vet_id is null", vet, id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Whether anything was recorded in a visit.
pub async fn has_entries(db: impl SqliteExecutor<'_>, id: VisitId) -> sqlx::Result<bool> {
    let some = sqlx::query_scalar!("select exists (select 1 from entry where visit_id = ?)", id)
        .fetch_one(db)
        .await?;
    Ok(some == 1)
}

/// Puts a visit under another horse, if it still has `version`; zero rows mean that somebody else was there first.
pub async fn change_horse(tx: &mut Tx, id: VisitId, version: i64, horse: HorseId) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set horse_id = ?, version = version + 1 where id = ? and version = ?",
        horse,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
