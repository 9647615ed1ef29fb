//! The SQL of prices, and what a visit's proposals need that nothing else asks for.

use sqlx::SqliteExecutor;

use crate::{
    catalogue::charges::Unit,
    clock::{At, Day},
    db::Tx,
    ids::{CopyId, HorseId, PriceId, StaffId, VisitId},
    reasoning::charges::Rule,
};

/// The practice's currency, once it is kept.
pub async fn currency(db: impl SqliteExecutor<'_>) -> sqlx::Result<Option<String>> {
    sqlx::query_scalar!("select code from price_currency").fetch_optional(db).await
}

/// Keeps the currency; zero rows mean that one is kept already.
pub async fn keep_currency(tx: &mut Tx, code: &str, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into price_currency (id, code, by_id, at) values (1, ?, ?, ?) on conflict do nothing",
        code,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A price of the list.
#[derive(Debug, Clone)]
pub struct Price {
    pub id: PriceId,
    pub code: String,
    pub words: String,
    pub charge: String,
    pub of_what: String,
    pub up_to_km: Option<i64>,
    pub unit: Unit,
    /// Hundredths of the currency.
    pub minor: i64,
    pub tax: String,
    pub valid_from: Day,
    pub ends_on: Option<Day>,
}

impl Price {
    pub fn rule(&self) -> Rule {
        Rule {
            charge: self.charge.clone(),
            of: self.of_what.clone(),
            up_to_km: self.up_to_km,
            unit: self.unit,
            from: self.valid_from,
            until: self.ends_on,
        }
    }
}

/// Every price that was ever kept, by what it is for.
pub async fn prices(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Price>> {
    sqlx::query_as!(
        Price,
        r#"select id as "id: PriceId", code, words, charge, of_what, up_to_km, unit as "unit: Unit", minor, tax,
                  valid_from as "valid_from: Day", ends_on as "ends_on: Day"
           from price order by charge, of_what, up_to_km is null, up_to_km, valid_from, rowid"#
    )
    .fetch_all(db)
    .await
}

pub async fn insert_price(tx: &mut Tx, new: &Price, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into price (id, code, words, charge, of_what, up_to_km, unit, minor, tax, valid_from, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.code,
        new.words,
        new.charge,
        new.of_what,
        new.up_to_km,
        new.unit,
        new.minor,
        new.tax,
        new.valid_from,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Ends a price from a day; zero rows mean that it was ended before.
pub async fn end_price(tx: &mut Tx, id: PriceId, from: Day, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update price set ends_on = ?, ended_by = ?, ended_at = ? where id = ? and ends_on is null",
        from,
        by,
        now,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What a visit's row and its drive tell.
#[derive(Debug, Clone)]
pub struct Went {
    /// What it was booked for; empty where nobody said.
    pub kind: String,
    pub yard: Option<String>,
    pub lat: Option<f64>,
    pub lon: Option<f64>,
    /// Of the drive to it, where both ends were told.
    pub minutes: Option<i64>,
    pub arrived_at: Option<At>,
    /// Another visit of the same stop comes before it.
    pub follows: bool,
}

pub async fn went(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Went> {
    sqlx::query_as!(
        Went,
        r#"select v.kind, y.name as "yard?", y.lat as "lat?", y.lon as "lon?", d.minutes as "minutes?",
                  d.arrived_at as "arrived_at?: At",
                  exists (select 1 from visit o
                          where o.stop_id = v.stop_id and o.id <> v.id and o.starts_at < v.starts_at
                            and o.state not in ('cancelled', 'did_not_come')) as "follows!: bool"
           from visit v left join yard y on y.id = v.yard_id left join drive d on d.visit_id = v.id
           where v.id = ?"#,
        visit
    )
    .fetch_one(db)
    .await
}

/// A copy of the horse's record that was given.
#[derive(Debug, Clone)]
pub struct Copied {
    pub id: CopyId,
    pub asked_by: String,
    pub given_on: Day,
}

/// Copies that were given after this visit began and before the next one did.
pub async fn copies(
    db: impl SqliteExecutor<'_>,
    horse: HorseId,
    visit: VisitId,
) -> sqlx::Result<Vec<Copied>> {
    sqlx::query_as!(
        Copied,
        r#"select r.id as "id: CopyId", r.asked_by, r.given_on as "given_on!: Day"
           from record_copy r join visit v on v.id = ?2
           where r.horse_id = ?1 and r.given_at >= v.starts_at
             and not exists (select 1 from visit n
                             where n.horse_id = ?1 and n.starts_at > v.starts_at and n.starts_at <= r.given_at
                               and n.state in ('in_hand', 'to_sign', 'signed'))
           order by r.given_at"#,
        horse,
        visit
    )
    .fetch_all(db)
    .await
}

/// A signed visit of which nothing was gone over.
#[derive(Debug, Clone)]
pub struct NotLookedOver {
    pub id: VisitId,
    pub horse: String,
    pub starts_at: At,
}

/// Signed visits since an instant of which nothing was gone over, the newest first.
pub async fn not_looked_over(
    db: impl SqliteExecutor<'_>,
    since: At,
    now: At,
    limit: i64,
) -> sqlx::Result<Vec<NotLookedOver>> {
    sqlx::query_as!(
        NotLookedOver,
        r#"select v.id as "id: VisitId", h.name as horse, v.starts_at as "starts_at: At"
           from visit v join horse h on h.id = v.horse_id
           where v.state = 'signed' and v.starts_at >= ? and v.starts_at <= ?
             and not exists (select 1 from charge c where c.visit_id = v.id)
           order by v.starts_at desc limit ?"#,
        since,
        now,
        limit
    )
    .fetch_all(db)
    .await
}

pub async fn count_not_looked_over(db: impl SqliteExecutor<'_>, since: At, now: At) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        "select count(*) from visit v
         where v.state = 'signed' and v.starts_at >= ? and v.starts_at <= ?
           and not exists (select 1 from charge c where c.visit_id = v.id)",
        since,
        now
    )
    .fetch_one(db)
    .await
}

/// How many lines were gone over and not handed over.
pub async fn count_waiting(db: impl SqliteExecutor<'_>) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        "select count(*) from charge c
         where c.price_id is not null and not exists (select 1 from charge_handed h where h.charge_id = c.id)"
    )
    .fetch_one(db)
    .await
}
