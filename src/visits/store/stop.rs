//! The SQL of a shared stop: several horses of one yard, a visit each, seen on one drive.

use sqlx::SqliteExecutor;

use super::day::{self, Line};
use crate::{
    clock::At,
    db::Tx,
    ids::{HorseId, StaffId, StopId, VisitId, YardId},
    visits::{State, Visit},
};

pub async fn insert(tx: &mut Tx, id: StopId, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!("insert into stop (id, made_by, made_at) values (?, ?, ?)", id, by, now)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// What moves when a booked visit does: itself, or what is booked of its stop with the same vet, by time.
pub async fn moved_with(db: impl SqliteExecutor<'_>, visit: &Visit) -> sqlx::Result<Vec<Line>> {
    let Some(stop) = visit.stop_id else { return Ok(vec![day::line(db, visit.id).await?]) };
    let mut lines = day::of_stop(db, stop).await?;
    lines.retain(|line| line.state == State::Booked && line.vet_id == visit.vet_id);
    Ok(lines)
}

/// A visit becomes one of its own again; zero rows mean that it has begun, or was one already.
pub async fn take_out(tx: &mut Tx, visit: VisitId) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set stop_id = null, version = version + 1
         where id = ? and state = 'booked' and stop_id is not null",
        visit
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A horse that can be seen on the same stop.
#[derive(Debug, Clone)]
pub struct Neighbour {
    pub id: HorseId,
    pub name: String,
    pub owner: Option<String>,
    /// Its next visit, so that nobody books it twice without knowing.
    pub booked: Option<At>,
}

/// The horses that stand at a yard.
pub async fn neighbours(db: impl SqliteExecutor<'_>, yard: YardId, from: At) -> sqlx::Result<Vec<Neighbour>> {
    sqlx::query_as!(
        Neighbour,
        r#"select h.id as "id: HorseId", h.name,
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String",
                  (select min(v.starts_at) from visit v where v.horse_id = h.id and v.starts_at >= ?2
                   and v.state in ('booked', 'arrived', 'in_hand')) as "booked: At"
           from horse h where h.yard_id = ?1 and h.status in ('here', 'retired') order by h.name collate nocase"#,
        yard,
        from
    )
    .fetch_all(db)
    .await
}
