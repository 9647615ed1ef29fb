//! The SQL of booking and moving.

use sqlx::SqliteExecutor;

use super::changes::{self, NewChange};
use crate::{
    clock::At,
    db::Tx,
    ids::{ClientId, ComplaintId, HorseId, StaffId, VisitId, YardId},
    visits::{complaint::NewComplaint, when::When},
};

/// Adds a complaint at the end of a visit's.
pub async fn add_complaint(tx: &mut Tx, visit: VisitId, c: &NewComplaint, now: At) -> sqlx::Result<()> {
    let id = ComplaintId::new();
    sqlx::query!(
        "insert into complaint (id, visit_id, position, words, site, since, onset, course, weight_bearing, shod_on,
                                medicines, work, created_at)
         values (?, ?, (select count(*) from complaint where visit_id = ?), ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        visit,
        visit,
        c.words,
        c.site,
        c.since,
        c.onset,
        c.course,
        c.weight_bearing,
        c.shod_on,
        c.medicines,
        c.work,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Changes a complaint that still has `version`; zero rows mean that somebody else was there first.
pub async fn change_complaint(
    tx: &mut Tx,
    id: ComplaintId,
    version: i64,
    c: &NewComplaint,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update complaint set words = ?, site = ?, since = ?, onset = ?, course = ?, weight_bearing = ?, shod_on = ?,
                medicines = ?, work = ?, version = version + 1
         where id = ? and version = ?",
        c.words,
        c.site,
        c.since,
        c.onset,
        c.course,
        c.weight_bearing,
        c.shod_on,
        c.medicines,
        c.work,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Where a visit takes place.
#[derive(Debug, Clone, Copy)]
pub struct Where {
    /// `yard` or `clinic`
    pub place: &'static str,
    pub yard: Option<YardId>,
}

/// Gives a booked visit another time, vet and place, if it still has `version`.
pub async fn move_to(
    tx: &mut Tx,
    id: VisitId,
    version: i64,
    when: &When,
    place: Where,
    urgent: bool,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set vet_id = ?, starts_at = ?, minutes = ?, place = ?, yard_id = ?, urgent = ?,
                version = version + 1
         where id = ? and version = ? and state = 'booked'",
        when.vet,
        when.starts_at,
        when.minutes,
        place.place,
        place.yard,
        urgent,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What a visit is for, and whether its time was promised.
pub async fn set_kind(tx: &mut Tx, id: VisitId, kind: &str, promised: bool) -> sqlx::Result<()> {
    sqlx::query!("update visit set kind = ?, promised = ? where id = ?", kind, promised, id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Somebody who may have called about a horse.
#[derive(Debug, Clone)]
pub struct Caller {
    pub id: ClientId,
    pub name: String,
    pub role: String,
    pub phone: Option<String>,
}

/// The people of a horse, its owner first.
pub async fn callers(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Caller>> {
    sqlx::query_as!(
        Caller,
        r#"select c.id as "id!: ClientId", c.name as "name!", group_concat(p.role, ', ') as "role!: String",
                  (select number from client_phone where client_id = c.id order by position limit 1) as "phone: String"
           from party p join client c on c.id = p.client_id
           where p.horse_id = ? group by c.id order by min(case p.role when 'owner' then 0 else 1 end), c.name"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// The yards where a horse may be met: its own first, then those of its people.
pub async fn yards_of(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<(YardId, String)>> {
    let rows = sqlx::query!(
        r#"select y.id as "id: YardId", y.name from yard y join horse h on h.id = ?
           where y.id = h.yard_id or y.client_id in (select client_id from party where horse_id = h.id)
           order by case when y.id = h.yard_id then 0 else 1 end, y.name"#,
        horse
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.name)).collect())
}

/// The other horses that stand where a visit takes place, so that a vet can go on from one to the next.
pub async fn horses_beside(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
) -> sqlx::Result<Vec<(HorseId, String)>> {
    let rows = sqlx::query!(
        r#"select h.id as "id: HorseId", h.name from horse h join visit v on v.yard_id = h.yard_id
           where v.id = ? and h.id <> v.horse_id and h.status in ('here', 'retired') order by h.name"#,
        visit
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.name)).collect())
}

/// The open visit that a horse has already, so that nobody books it twice without knowing.
pub async fn booked_already(
    db: impl SqliteExecutor<'_>,
    horse: HorseId,
    from: At,
) -> sqlx::Result<Vec<(VisitId, At)>> {
    let rows = sqlx::query!(
        r#"select id as "id: VisitId", starts_at as "at: At" from visit
           where horse_id = ? and starts_at >= ? and state in ('booked', 'arrived', 'in_hand') order by starts_at"#,
        horse,
        from
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.at)).collect())
}

/// Cancels what is still booked for a horse that was sold or died, with the reason in each visit's history.
pub async fn cancel_future_of_horse(
    tx: &mut Tx,
    horse: HorseId,
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let ids = sqlx::query_scalar!(
        r#"select id as "id: VisitId" from visit where horse_id = ? and state in ('booked', 'arrived')"#,
        horse
    )
    .fetch_all(&mut **tx)
    .await?;
    let mut cancelled = 0;
    for visit in ids {
        sqlx::query!("update visit set state = 'cancelled', version = version + 1 where id = ?", visit)
            .execute(&mut **tx)
            .await?;
        let change = NewChange { visit, what: "cancelled", detail: "", reason };
        changes::note(tx, change, by, now).await?;
        crate::followups::store::reopen(tx, visit).await?;
        cancelled += 1;
    }
    Ok(cancelled)
}
