//! The SQL of calendars.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{StaffId, StopId, VisitId},
    visits::State,
};

/// A visit as a calendar says it.
#[derive(Debug, Clone)]
pub struct Event {
    pub id: VisitId,
    /// The stop that it shares, and the number of its changes.
    pub stop: Option<StopId>,
    pub stop_version: Option<i64>,
    pub starts_at: At,
    pub minutes: i64,
    pub state: State,
    /// It went to another vet.
    pub gone: bool,
    pub version: i64,
    /// When it was booked or last changed.
    pub changed_at: At,
    pub place: String,
    pub yard: Option<String>,
    pub horse: String,
    pub client: Option<String>,
}

/// A vet's visits from `from` on, and those that went to another vet.
pub async fn events(db: impl SqliteExecutor<'_>, vet: StaffId, from: At) -> sqlx::Result<Vec<Event>> {
    sqlx::query_as!(
        Event,
        r#"select v.id as "id: VisitId", v.stop_id as "stop: StopId", t.version as "stop_version?", coalesce(l.starts_at, v.starts_at) as "starts_at!: At",
                  coalesce(l.minutes, v.minutes) as "minutes!: i64", v.state as "state: State",
                  l.visit_id is not null as "gone!: bool", v.version,
                  coalesce((select max(c.at) from visit_change c where c.visit_id = v.id), v.created_at) as "changed_at!: At",
                  v.place, y.name as "yard?", h.name as horse,
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "client: String"
           from visit v
           join horse h on h.id = v.horse_id
           left join visit_left l on l.visit_id = v.id and l.staff_id = ?1
           left join yard y on y.id = v.yard_id
           left join stop t on t.id = v.stop_id
           where (v.vet_id = ?1 or l.staff_id = ?1) and coalesce(l.starts_at, v.starts_at) >= ?2
           order by coalesce(l.starts_at, v.starts_at), v.id"#,
        vet,
        from
    )
    .fetch_all(db)
    .await
}

/// Whose calendar stands at this address: the vet and the name, while they work here.
pub async fn vet_of(db: impl SqliteExecutor<'_>, secret: &str) -> sqlx::Result<Option<(StaffId, String)>> {
    let row = sqlx::query!(
        r#"select s.id as "id: StaffId", s.name from calendar_feed f join staff s on s.id = f.staff_id
           where f.secret = ? and s.active = 1"#,
        secret
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|r| (r.id, r.name)))
}

/// A vet's address, and since when it is good.
pub async fn of_vet(db: impl SqliteExecutor<'_>, vet: StaffId) -> sqlx::Result<Option<(String, At)>> {
    let row =
        sqlx::query!(r#"select secret, made_at as "made_at: At" from calendar_feed where staff_id = ?"#, vet)
            .fetch_optional(db)
            .await?;
    Ok(row.map(|r| (r.secret, r.made_at)))
}

/// Every vet who has one: who, their name, and since when.
pub async fn all(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<(StaffId, String, At)>> {
    let rows = sqlx::query!(
        r#"select s.id as "id: StaffId", s.name, f.made_at as "made_at: At"
           from calendar_feed f join staff s on s.id = f.staff_id order by s.name"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.name, r.made_at)).collect())
}

/// Gives a vet an address; the one before is no good from now on.
pub async fn make(tx: &mut Tx, vet: StaffId, secret: &str, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into calendar_feed (secret, staff_id, made_at) values (?, ?, ?)
         on conflict (staff_id) do update set secret = excluded.secret, made_at = excluded.made_at",
        secret,
        vet,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn withdraw(tx: &mut Tx, vet: StaffId) -> sqlx::Result<u64> {
    let done = sqlx::query!("delete from calendar_feed where staff_id = ?", vet).execute(&mut **tx).await?;
    Ok(done.rows_affected())
}

/// What calendars say: `time`, `yard`, `horse` or `client`, each with what stands before it.
pub async fn shows(db: impl SqliteExecutor<'_>) -> sqlx::Result<String> {
    sqlx::query_scalar!("select calendar_shows from practice").fetch_one(db).await
}

pub async fn set_shows(tx: &mut Tx, shows: &str) -> sqlx::Result<()> {
    sqlx::query!("update practice set calendar_shows = ?", shows).execute(&mut **tx).await?;
    Ok(())
}
