//! The SQL of rounds: what days are made of.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{HorseId, StaffId, StopId, VisitId, YardId},
    reasoning::road::{Drive, Spot},
    visits::State,
};

/// A booked visit, with where it is.
#[derive(Debug, Clone)]
pub struct Booked {
    pub id: VisitId,
    pub vet_id: Option<StaffId>,
    pub horse_id: HorseId,
    pub horse: String,
    /// What it shares with other visits of its yard.
    pub stop_id: Option<StopId>,
    pub kind: String,
    pub place: String,
    pub yard_id: Option<YardId>,
    pub yard: Option<String>,
    pub lat: Option<f64>,
    pub lon: Option<f64>,
    pub starts_at: At,
    pub minutes: i64,
    pub state: State,
    pub promised: bool,
    pub version: i64,
}

/// What stands on the days between two instants, by time.
pub async fn booked(db: impl SqliteExecutor<'_>, from: At, until: At) -> sqlx::Result<Vec<Booked>> {
    sqlx::query_as!(
        Booked,
        r#"select v.id as "id: VisitId", v.vet_id as "vet_id: StaffId", v.horse_id as "horse_id: HorseId",
                  h.name as horse, v.stop_id as "stop_id: StopId", v.kind, v.place,
                  v.yard_id as "yard_id: YardId", y.name as "yard?", y.lat as "lat?", y.lon as "lon?",
                  v.starts_at as "starts_at: At", v.minutes, v.state as "state: State",
                  v.promised as "promised: bool", v.version
           from visit v join horse h on h.id = v.horse_id left join yard y on y.id = v.yard_id
           where v.starts_at >= ? and v.starts_at < ? and v.walk_in = 0
             and v.state not in ('cancelled', 'did_not_come')
           order by v.starts_at"#,
        from,
        until
    )
    .fetch_all(db)
    .await
}

/// A vet's round as it is kept.
#[derive(Debug, Clone)]
pub struct Round {
    pub staff_id: StaffId,
    pub hours: String,
    pub clinic_days: String,
    pub starts_at_home: bool,
    pub home_lat: Option<f64>,
    pub home_lon: Option<f64>,
    pub equipment: String,
    /// On which the vet is reached when on call.
    pub phone: String,
    pub version: i64,
}

pub async fn rounds(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Round>> {
    sqlx::query_as!(
        Round,
        r#"select staff_id as "staff_id: StaffId", hours, clinic_days, starts_at_home as "starts_at_home: bool",
                  home_lat, home_lon, equipment, phone, version
           from vet_round"#
    )
    .fetch_all(db)
    .await
}

/// Keeps a vet's round if it still has this version, 0 for the first; zero rows mean that somebody else was there first.
pub async fn keep_round(tx: &mut Tx, r: &Round) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into vet_round (staff_id, hours, clinic_days, starts_at_home, home_lat, home_lon, equipment, phone)
         select ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?9 where ?8 = 0 or exists (select 1 from vet_round where staff_id = ?1)
         on conflict (staff_id) do update
         set hours = excluded.hours, clinic_days = excluded.clinic_days, starts_at_home = excluded.starts_at_home,
             home_lat = excluded.home_lat, home_lon = excluded.home_lon, equipment = excluded.equipment,
             phone = excluded.phone, version = version + 1
         where vet_round.version = ?8",
        r.staff_id,
        r.hours,
        r.clinic_days,
        r.starts_at_home,
        r.home_lat,
        r.home_lon,
        r.equipment,
        r.version,
        r.phone
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Where the practice stands, and the version of that; none before it was entered.
pub async fn practice_spot(db: impl SqliteExecutor<'_>) -> sqlx::Result<Option<(Spot, i64)>> {
    let row = sqlx::query!("select lat, lon, version from practice_place").fetch_optional(db).await?;
    Ok(row.map(|row| (Spot { lat: row.lat, lon: row.lon }, row.version)))
}

/// Sets where the practice stands if it still has this version, 0 for the first.
pub async fn keep_practice_spot(tx: &mut Tx, spot: Spot, version: i64) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into practice_place (id, lat, lon)
         select 1, ?1, ?2 where ?3 = 0 or exists (select 1 from practice_place)
         on conflict (id) do update set lat = excluded.lat, lon = excluded.lon, version = version + 1
         where practice_place.version = ?3",
        spot.lat,
        spot.lon,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A number of the practice's own, as it was set last.
#[derive(Debug, Clone)]
pub struct Set {
    pub code: String,
    pub version: i64,
    /// None: back to the shipped one.
    pub value: Option<f64>,
    pub reason: String,
    pub by: String,
    pub at: At,
}

/// Every number that was ever set, as it stands.
pub async fn figures(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Set>> {
    sqlx::query_as!(
        Set,
        r#"select f.code, f.version, f.value, f.reason, s.name as by, f.changed_at as "at: At"
           from practice_figure f join staff s on s.id = f.changed_by
           where f.version = (select max(version) from practice_figure where code = f.code)"#
    )
    .fetch_all(db)
    .await
}

pub async fn set_figure(tx: &mut Tx, set: &Set, by: StaffId) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into practice_figure (code, version, value, reason, changed_by, changed_at) values (?, ?, ?, ?, ?, ?)",
        set.code,
        set.version,
        set.value,
        set.reason,
        by,
        set.at
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// The drives that legs are learned from, the latest of them.
pub async fn drives(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Drive>> {
    sqlx::query_as!(
        Drive,
        r#"select from_key as "from", to_key as "to", minutes from drive order by arrived_at desc limit 5000"#
    )
    .fetch_all(db)
    .await
}

/// Where a vet drove off last on a day before an instant: the visit that was left, and when. None when the vet has
/// arrived somewhere since.
pub async fn left_last(
    db: impl SqliteExecutor<'_>,
    vet: StaffId,
    since: At,
    now: At,
) -> sqlx::Result<Option<(VisitId, At)>> {
    let row = sqlx::query!(
        r#"select d.visit_id as "visit: VisitId", d.left_at as "at: At" from departure d
           where d.vet_id = ?1 and d.left_at >= ?2 and d.left_at <= ?3
             and not exists (select 1 from drive a where a.vet_id = ?1 and a.arrived_at > d.left_at)
           order by d.left_at desc limit 1"#,
        vet,
        since,
        now
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.visit, row.at)))
}

/// Notes that a vet drove off; the first word stays.
pub async fn leave(tx: &mut Tx, visit: VisitId, vet: StaffId, at: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into departure (visit_id, vet_id, left_at) values (?, ?, ?) on conflict do nothing",
        visit,
        vet,
        at
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

pub async fn has_left(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<bool> {
    let some = sqlx::query_scalar!("select exists (select 1 from departure where visit_id = ?)", visit)
        .fetch_one(db)
        .await?;
    Ok(some == 1)
}

/// A drive that is known at both ends.
pub struct Made<'a> {
    pub visit: VisitId,
    pub vet: StaffId,
    pub from: &'a str,
    pub to: &'a str,
    pub minutes: i64,
    pub arrived_at: At,
}

pub async fn log_drive(tx: &mut Tx, made: &Made<'_>) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into drive (visit_id, vet_id, from_key, to_key, minutes, arrived_at) values (?, ?, ?, ?, ?, ?)
         on conflict do nothing",
        made.visit,
        made.vet,
        made.from,
        made.to,
        made.minutes,
        made.arrived_at
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Gives a booked visit another time on its day, if it still has this version.
pub async fn retime(tx: &mut Tx, visit: VisitId, version: i64, at: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update visit set starts_at = ?, version = version + 1 where id = ? and version = ? and state = 'booked'",
        at,
        visit,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Sets visits aside while others take their times: without a vet nobody is in their way.
pub async fn set_aside(tx: &mut Tx, visit: VisitId) -> sqlx::Result<()> {
    sqlx::query!("update visit set vet_id = null where id = ? and state = 'booked'", visit)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Gives a visit that was set aside back to its vet.
pub async fn give_back(tx: &mut Tx, visit: VisitId, vet: StaffId) -> sqlx::Result<()> {
    sqlx::query!("update visit set vet_id = ? where id = ?", vet, visit).execute(&mut **tx).await?;
    Ok(())
}
