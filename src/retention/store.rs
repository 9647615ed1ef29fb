//! The SQL of record keeping: the setting, holds and copies.

use sqlx::SqliteExecutor;

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{CopyId, HoldId, HorseId, StaffId},
};

/// As the practice has set it.
#[derive(Debug, Clone, Default)]
pub struct Setting {
    pub years: Option<u16>,
    pub copy_rule: String,
    pub version: i64,
}

pub async fn setting(db: impl SqliteExecutor<'_>) -> sqlx::Result<Setting> {
    sqlx::query_as!(Setting, r#"select years as "years: u16", copy_rule, version from record_keeping"#)
        .fetch_one(db)
        .await
}

/// Zero rows mean that somebody else was there first.
pub(super) async fn set(tx: &mut Tx, new: &Setting) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update record_keeping set years = ?, copy_rule = ?, version = version + 1 where version = ?",
        new.years,
        new.copy_rule,
        new.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// When the record of a horse grew last, or the horse was last to be seen; `None` for one that never was.
pub async fn latest(db: impl SqliteExecutor<'_>, horse: HorseId, now: At) -> sqlx::Result<Option<At>> {
    sqlx::query_scalar!(
        r#"select max(max(v.starts_at, coalesce((select max(e.received_at) from entry e where e.visit_id = v.id), 0)))
                  as "at: At"
           from visit v where v.horse_id = ? and v.starts_at <= ? and v.state <> 'cancelled'"#,
        horse,
        now
    )
    .fetch_one(db)
    .await
}

#[derive(Debug, Clone)]
pub struct Hold {
    pub id: HoldId,
    pub reason: String,
    pub by: String,
    pub at: At,
    pub lifted_by: Option<String>,
    pub lifted_at: Option<At>,
    pub lifted_why: String,
}

/// The holds on a horse's record, those that stand first.
pub async fn holds(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Hold>> {
    sqlx::query_as!(
        Hold,
        r#"select k.id as "id: HoldId", k.reason, s.name as by, k.at as "at: At", l.name as "lifted_by?",
                  k.lifted_at as "lifted_at: At", k.lifted_why
           from legal_hold k join staff s on s.id = k.by_id left join staff l on l.id = k.lifted_by
           where k.horse_id = ? order by k.lifted_at is not null, k.at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

pub(super) async fn insert_hold(
    tx: &mut Tx,
    horse: HorseId,
    reason: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = HoldId::new();
    sqlx::query!(
        "insert into legal_hold (id, horse_id, reason, by_id, at) values (?, ?, ?, ?, ?)",
        id,
        horse,
        reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else lifted it.
pub(super) async fn lift(
    tx: &mut Tx,
    (horse, id): (HorseId, HoldId),
    why: &str,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update legal_hold set lifted_by = ?, lifted_at = ?, lifted_why = ?
         where id = ? and horse_id = ? and lifted_at is null",
        by,
        now,
        why,
        id,
        horse
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Somebody who asked for a copy.
#[derive(Debug, Clone)]
pub struct Asked {
    pub id: CopyId,
    pub horse_id: HorseId,
    pub horse: String,
    pub asked_by: String,
    pub how: String,
    pub what: String,
    pub asked_on: Day,
    pub due_on: Option<Day>,
    pub by: String,
    pub given_on: Option<Day>,
    pub given_how: String,
    pub given_by: Option<String>,
}

impl Asked {
    pub fn is_overdue(&self, today: Day) -> bool {
        self.given_on.is_none() && self.due_on.is_some_and(|due| due < today)
    }
}

/// The copies that a condition picks: what is not given first, the earliest due before the rest.
macro_rules! copies {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Asked,
            r#"select c.id as "id: CopyId", c.horse_id as "horse_id: HorseId", h.name as horse, c.asked_by, c.how, c.what,
                      c.asked_on as "asked_on: Day", c.due_on as "due_on: Day", s.name as by,
                      c.given_on as "given_on: Day", c.given_how, g.name as "given_by?"
               from record_copy c join horse h on h.id = c.horse_id join staff s on s.id = c.by_id
               left join staff g on g.id = c.given_by
               where "# + $which + " order by c.given_on is not null, coalesce(c.due_on, '9999'), c.asked_on, c.id",
            $($value),*
        )
    };
}

pub async fn copies_of(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Asked>> {
    copies!("c.horse_id = ?", horse).fetch_all(db).await
}

/// Every copy that is still to be given.
pub async fn open_copies(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Asked>> {
    copies!("c.given_on is null",).fetch_all(db).await
}

/// How many copies should have been given before this day.
pub async fn count_overdue(db: impl SqliteExecutor<'_>, today: Day) -> sqlx::Result<i64> {
    sqlx::query_scalar!(
        r#"select count(*) as "count!: i64" from record_copy where given_on is null and due_on < ?"#,
        today
    )
    .fetch_one(db)
    .await
}

/// A copy on its way in.
#[derive(Debug)]
pub(super) struct NewCopy {
    pub asked_by: String,
    pub how: String,
    pub what: String,
    pub asked_on: Day,
    pub due_on: Option<Day>,
}

pub(super) async fn insert_copy(
    tx: &mut Tx,
    horse: HorseId,
    new: &NewCopy,
    by: StaffId,
    now: At,
) -> sqlx::Result<()> {
    let id = CopyId::new();
    sqlx::query!(
        "insert into record_copy (id, horse_id, asked_by, how, what, asked_on, due_on, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        new.asked_by,
        new.how,
        new.what,
        new.asked_on,
        new.due_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else gave it.
pub(super) async fn give(
    tx: &mut Tx,
    (horse, id): (HorseId, CopyId),
    (on, how): (Day, &str),
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update record_copy set given_on = ?, given_how = ?, given_by = ?, given_at = ?
         where id = ? and horse_id = ? and given_on is null",
        on,
        how,
        by,
        now,
        id,
        horse
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
