//! The SQL of visits.

use sqlx::SqliteExecutor;

use super::{Complaint, State, Visit};
use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, HorseId, StaffId, VisitId, YardId},
};

pub async fn get(db: impl SqliteExecutor<'_>, id: VisitId) -> sqlx::Result<Visit> {
    sqlx::query_as!(
        Visit,
        r#"select v.id as "id: VisitId", v.horse_id as "horse_id: HorseId", v.client_id as "client_id: ClientId",
                  v.vet_id as "vet_id: StaffId", s.name as "vet?", v.place, v.yard_id as "yard_id: YardId",
                  v.starts_at as "starts_at: At", v.minutes, v.urgent as "urgent: bool", v.walk_in as "walk_in: bool",
                  v.state as "state: State", v.signed_by as "signed_by: StaffId", v.signed_at as "signed_at: At", v.version
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
        "select words, site, since, onset, course, weight_bearing, shod_on, medicines, work
         from complaint where visit_id = ? order by position",
        visit
    )
    .fetch_all(db)
    .await
}

/// The visits of a horse that took place, newest first.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Visit>> {
    sqlx::query_as!(
        Visit,
        r#"select v.id as "id: VisitId", v.horse_id as "horse_id: HorseId", v.client_id as "client_id: ClientId",
                  v.vet_id as "vet_id: StaffId", s.name as "vet?", v.place, v.yard_id as "yard_id: YardId",
                  v.starts_at as "starts_at: At", v.minutes, v.urgent as "urgent: bool", v.walk_in as "walk_in: bool",
                  v.state as "state: State", v.signed_by as "signed_by: StaffId", v.signed_at as "signed_at: At", v.version
           from visit v left join staff s on s.id = v.vet_id
           where v.horse_id = ? order by v.starts_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// Moves a visit on; zero rows mean that somebody else was there first.
pub async fn set_state(tx: &mut Tx, id: VisitId, from: State, to: State) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set state = ?, version = version + 1 where id = ? and state = ?",
        to,
        id,
        from
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
