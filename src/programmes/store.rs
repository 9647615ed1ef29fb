//! The SQL of programmes: which visit each came out of, which follow-up stands for its gate, and the practice's own.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{FollowUpId, HorseId, OwnProgrammeId, ProgrammeId, StaffId, VisitId},
};

/// A programme as its row stands.
#[derive(Debug, Clone)]
pub struct Kept {
    pub id: ProgrammeId,
    pub visit_id: VisitId,
    pub horse_id: HorseId,
    pub horse: String,
    pub follow_up_id: Option<FollowUpId>,
    pub ended_at: Option<At>,
}

macro_rules! kept {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Kept,
            r#"select p.id as "id: ProgrammeId", p.visit_id as "visit_id: VisitId", v.horse_id as "horse_id: HorseId",
                      h.name as horse, p.follow_up_id as "follow_up_id: FollowUpId", p.ended_at as "ended_at: At"
               from programme p join visit v on v.id = p.visit_id join horse h on h.id = v.horse_id
               where "# + $which + " order by p.created_at desc",
            $($value),*
        )
    };
}

pub async fn get(db: impl SqliteExecutor<'_>, id: ProgrammeId) -> sqlx::Result<Kept> {
    kept!("p.id = ?", id).fetch_one(db).await
}

/// The programmes of a horse, the newest first, ended ones too.
pub async fn of_horse(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Kept>> {
    kept!("v.horse_id = ?", horse).fetch_all(db).await
}

/// Those that go on, of horses that are still seen.
pub async fn running(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Kept>> {
    kept!("p.ended_at is null and h.status in ('here', 'retired')",).fetch_all(db).await
}

pub async fn insert(tx: &mut Tx, id: ProgrammeId, visit: VisitId, now: At) -> sqlx::Result<()> {
    let key = id.to_string();
    sqlx::query!(
        "insert into programme (id, key, visit_id, created_at) values (?, ?, ?, ?)",
        id,
        key,
        visit,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn follow_up(tx: &mut Tx, id: ProgrammeId, follow_up: Option<FollowUpId>) -> sqlx::Result<()> {
    sqlx::query!("update programme set follow_up_id = ? where id = ?", follow_up, id)
        .execute(&mut **tx)
        .await?;
    Ok(())
}

/// Ends one that goes on, or lets one go on again.
pub async fn end(tx: &mut Tx, id: ProgrammeId, at: Option<At>) -> sqlx::Result<()> {
    sqlx::query!("update programme set ended_at = ? where id = ?", at, id).execute(&mut **tx).await?;
    Ok(())
}

/// A programme of the practice's own, its steps a line each.
#[derive(Debug, Clone)]
pub struct Own {
    pub id: OwnProgrammeId,
    pub name: String,
    pub ground: String,
    pub source: String,
    pub steps: String,
    pub in_use: bool,
    pub version: i64,
}

pub async fn own(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Own>> {
    sqlx::query_as!(
        Own,
        r#"select id as "id: OwnProgrammeId", name, ground, source, steps, in_use as "in_use: bool", version
           from own_programme order by name"#
    )
    .fetch_all(db)
    .await
}

pub async fn insert_own(tx: &mut Tx, new: &Own, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into own_programme (id, name, ground, source, steps, in_use, created_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.name,
        new.ground,
        new.source,
        new.steps,
        new.in_use,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else was there first.
pub async fn update_own(tx: &mut Tx, new: &Own) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update own_programme set name = ?, ground = ?, source = ?, steps = ?, in_use = ?, version = version + 1
         where id = ? and version = ?",
        new.name,
        new.ground,
        new.source,
        new.steps,
        new.in_use,
        new.id,
        new.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
