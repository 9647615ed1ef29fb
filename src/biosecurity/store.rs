//! The SQL of marks and of the authority.

use sqlx::SqliteExecutor;

use super::{Authority, Mark, Marks};
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{HorseId, MarkId, StaffId, YardId},
};

/// The marks that a condition picks, the newest first.
macro_rules! marks {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Mark,
            r#"select m.id as "id: MarkId", m.yard_id as "yard_id: YardId", m.horse_id as "horse_id: HorseId",
                      coalesce(h.name, y.name, '') as "whose!: String", m.kind, m.disease, m.from_on as "from_on: Day",
                      m.until_on as "until_on: Day", m.reason, s.name as by, m.at as "at: At", l.name as "lifted_by?",
                      m.lifted_at as "lifted_at: At", m.lifted_reason
               from biosecurity_mark m
               join staff s on s.id = m.by_id
               left join staff l on l.id = m.lifted_by
               left join horse h on h.id = m.horse_id
               left join yard y on y.id = m.yard_id
               where "# + $which + " order by m.at desc, m.id desc",
            $($value),*
        )
    };
}

/// Every mark that is not lifted.
pub async fn standing(db: impl SqliteExecutor<'_>) -> sqlx::Result<Marks> {
    Ok(Marks(marks!("m.lifted_at is null",).fetch_all(db).await?))
}

/// Everything that was ever marked about a horse.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Mark>> {
    marks!("m.horse_id = ?", horse).fetch_all(db).await
}

/// Everything that was ever marked about a yard.
pub async fn of_yard(db: impl SqliteExecutor<'_>, yard: YardId) -> sqlx::Result<Vec<Mark>> {
    marks!("m.yard_id = ?", yard).fetch_all(db).await
}

pub async fn get(db: impl SqliteExecutor<'_>, id: MarkId) -> sqlx::Result<Mark> {
    marks!("m.id = ?", id).fetch_one(db).await
}

/// A mark on its way in, of a horse or of a yard.
#[derive(Debug, Clone)]
pub struct NewMark {
    pub horse: Option<HorseId>,
    pub yard: Option<YardId>,
    pub kind: &'static str,
    pub disease: String,
    pub from_on: Day,
    pub until_on: Option<Day>,
    pub reason: String,
}

pub async fn insert(tx: &mut Tx, new: &NewMark, by: StaffId, now: At) -> sqlx::Result<()> {
    let id = MarkId::new();
    sqlx::query!(
        "insert into biosecurity_mark (id, yard_id, horse_id, kind, disease, from_on, until_on, reason, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        new.yard,
        new.horse,
        new.kind,
        new.disease,
        new.from_on,
        new.until_on,
        new.reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Lifts a mark; zero rows mean that somebody else did.
pub async fn lift(tx: &mut Tx, id: MarkId, reason: &str, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update biosecurity_mark set lifted_by = ?, lifted_at = ?, lifted_reason = ? where id = ? and lifted_at is null",
        by,
        now,
        reason,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Whom the practice asks, if it has entered them.
pub async fn authority(db: impl SqliteExecutor<'_>) -> sqlx::Result<Option<Authority>> {
    sqlx::query_as!(Authority, "select name, phone, version from authority").fetch_optional(db).await
}

/// Keeps the authority if it still has this version, 0 for the first; zero rows mean that somebody else was there first.
pub async fn keep_authority(tx: &mut Tx, a: &Authority) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into authority (id, name, phone)
         select 1, ?1, ?2 where ?3 = 0 or exists (select 1 from authority)
         on conflict (id) do update set name = excluded.name, phone = excluded.phone, version = version + 1
         where authority.version = ?3",
        a.name,
        a.phone,
        a.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
