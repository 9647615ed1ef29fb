//! The SQL of care: the medicines of a horse out of the record, its risks, and when its passport was seen.

use sqlx::{SqliteExecutor, SqlitePool};

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{EntryId, HorseId, PassportId, RiskId, StaffId, VisitId},
    record::{Body, Dosed},
};

/// A medicine that stands in the record.
#[derive(Debug, Clone)]
pub struct Given {
    pub entry: EntryId,
    pub visit: VisitId,
    pub dosed: Dosed,
}

/// The medicines of a horse that stand, the newest first. Late entries count: they were given, whoever adopts them.
pub async fn medicines(db: &SqlitePool, horse: HorseId) -> sqlx::Result<Vec<Given>> {
    let rows = sqlx::query!(
        r#"select e.id as "id: EntryId", e.visit_id as "visit: VisitId", e.body as "body!"
           from visit v join entry e on e.visit_id = v.id
           where v.horse_id = ? and e.kind = 'treatment' and e.body ->> '$.dosed.medicine' is not null
             and not exists (select 1 from entry s where s.supersedes = e.id)"#,
        horse
    )
    .fetch_all(db)
    .await?;
    let mut given = Vec::with_capacity(rows.len());
    for row in rows {
        let body: Body = serde_json::from_str(&row.body).map_err(|e| sqlx::Error::Decode(e.into()))?;
        if let Some(dosed) = body.dosed {
            given.push(Given { entry: row.id, visit: row.visit, dosed: *dosed });
        }
    }
    given.sort_by_key(|one| std::cmp::Reverse(one.dosed.at));
    Ok(given)
}

/// Something to know before a medicine.
#[derive(Debug, Clone)]
pub struct Risk {
    pub id: RiskId,
    pub code: String,
    pub note: String,
    pub by: String,
    pub at: At,
    pub ended_at: Option<At>,
}

/// The risks of a horse, those that hold first.
pub async fn risks(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Risk>> {
    sqlx::query_as!(
        Risk,
        r#"select r.id as "id: RiskId", r.code, r.note, s.name as by, r.added_at as "at: At", r.ended_at as "ended_at: At"
           from horse_risk r join staff s on s.id = r.added_by
           where r.horse_id = ? order by r.ended_at is not null, r.added_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

pub async fn add_risk(
    tx: &mut Tx,
    horse: HorseId,
    (code, note): (&str, &str),
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = RiskId::new();
    sqlx::query!(
        "insert into horse_risk (id, horse_id, code, note, added_by, added_at) values (?, ?, ?, ?, ?, ?)",
        id,
        horse,
        code,
        note,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that it was over already.
pub(super) async fn end_risk(
    tx: &mut Tx,
    horse: HorseId,
    id: RiskId,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update horse_risk set ended_by = ?, ended_at = ? where id = ? and horse_id = ? and ended_at is null",
        by,
        now,
        id,
        horse
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// A passport as it was seen.
#[derive(Debug, Clone)]
pub struct Passport {
    pub seen_on: Day,
    pub food_chain: String,
    pub declared_on: Option<Day>,
    pub by: String,
}

/// When the passport was seen last.
pub async fn passport(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Option<Passport>> {
    sqlx::query_as!(
        Passport,
        r#"select p.seen_on as "seen_on: Day", p.food_chain, p.declared_on as "declared_on: Day", s.name as by
           from passport_seen p join staff s on s.id = p.seen_by
           where p.horse_id = ? order by p.seen_on desc, p.at desc limit 1"#,
        horse
    )
    .fetch_optional(db)
    .await
}

/// Notes what a passport says, on it and on the horse.
pub(super) async fn see_passport(
    tx: &mut Tx,
    horse: HorseId,
    (seen_on, food_chain, declared_on): (Day, &str, Option<Day>),
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = PassportId::new();
    sqlx::query!(
        "insert into passport_seen (id, horse_id, seen_on, food_chain, declared_on, seen_by, at) values (?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        seen_on,
        food_chain,
        declared_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    sqlx::query!("update horse set food_chain = ?, version = version + 1 where id = ?", food_chain, horse)
        .execute(&mut **tx)
        .await?;
    Ok(())
}
