//! The SQL of papers: what a report needs that no other page asks for.

use std::collections::HashMap;

use sqlx::{SqliteExecutor, SqlitePool};

use super::report::Names;
use crate::{
    clock::{At, Day},
    ids::{HorseId, StaffId, VisitId},
    merging,
    record::Entry,
};

/// How a horse is told from every other one.
#[derive(Debug, Clone)]
pub(super) struct Identity {
    pub markings: String,
    pub microchip: String,
    pub microchip_other: String,
    pub ueln: String,
    pub passport: String,
}

pub(super) async fn identity(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Identity> {
    sqlx::query_as!(
        Identity,
        "select markings, microchip, microchip_other, ueln, passport from horse where id = ?",
        horse
    )
    .fetch_one(db)
    .await
}

/// Somebody who belongs to the horse.
#[derive(Debug, Clone)]
pub(super) struct Person {
    pub role: String,
    pub name: String,
}

pub(super) async fn people(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Person>> {
    sqlx::query_as!(
        Person,
        "select p.role, c.name from party p join client c on c.id = p.client_id
         where p.horse_id = ? order by p.created_at",
        horse
    )
    .fetch_all(db)
    .await
}

/// Who called about the visit, and the yard it is at. Whoever does not belong to the horse any more is not named: the
/// paper is for those who do.
pub(super) async fn caller_and_yard(
    db: impl SqliteExecutor<'_>,
    visit: VisitId,
) -> sqlx::Result<(Option<String>, Option<String>)> {
    let row = sqlx::query!(
        r#"select c.name as "caller?", y.name as "yard?" from visit v
           left join client c on c.id = v.client_id and not exists (
               select 1 from party_past p where p.horse_id = v.horse_id and p.client_id = c.id
                   and not exists (select 1 from party n where n.horse_id = v.horse_id and n.client_id = c.id))
           left join yard y on y.id = v.yard_id where v.id = ?"#,
        visit
    )
    .fetch_one(db)
    .await?;
    Ok((row.caller, row.yard))
}

pub(super) async fn names(db: &SqlitePool) -> sqlx::Result<Names> {
    let staff = crate::accounts::store::all(db).await?;
    Ok(staff.into_iter().map(|s| (s.id, s.name)).collect())
}

/// The names of the horses that a move speaks of.
pub(super) async fn horse_names(
    db: &SqlitePool,
    entries: &[Entry],
) -> sqlx::Result<HashMap<HorseId, String>> {
    let bodies = entries.iter().filter_map(|e| e.body.as_ref());
    let ids: Vec<HorseId> = bodies.flat_map(|b| [b.from_horse, b.to_horse]).flatten().collect();
    let mut names = HashMap::new();
    for id in ids {
        let kept = merging::store::kept_horse(db, id).await?;
        let name =
            sqlx::query_scalar!("select name from horse where id = ?", kept).fetch_optional(db).await?;
        names.extend(name.map(|n| (id, n)));
    }
    Ok(names)
}

/// The signature's place in the chain.
#[derive(Debug, Clone)]
pub(super) struct Seal {
    pub seq: i64,
    pub chain: Vec<u8>,
}

pub(super) async fn seal(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Option<Seal>> {
    sqlx::query_as!(
        Seal,
        r#"select seq as "seq!", chain from entry where visit_id = ? and kind = 'signature' order by seq desc limit 1"#,
        visit
    )
    .fetch_optional(db)
    .await
}

/// An entry whose words a law had taken out.
#[derive(Debug, Clone)]
pub(super) struct Erasure {
    pub seq: i64,
    pub at: At,
    pub by: StaffId,
    pub law: String,
    pub reason: String,
}

pub(super) async fn erasures(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Erasure>> {
    sqlx::query_as!(
        Erasure,
        r#"select e.seq as "seq!", x.at as "at: At", x.by_id as "by: StaffId", x.law, x.reason
           from entry e join erasure x on x.entry_id = e.id where e.visit_id = ? order by e.seq"#,
        visit
    )
    .fetch_all(db)
    .await
}

/// What was promised at this visit, and what became of it.
#[derive(Debug, Clone)]
pub(super) struct Promise {
    pub what: String,
    pub due_on: Day,
    pub state: String,
}

pub(super) async fn promises(db: impl SqliteExecutor<'_>, visit: VisitId) -> sqlx::Result<Vec<Promise>> {
    sqlx::query_as!(
        Promise,
        r#"select what, due_on as "due_on: Day", state from follow_up where visit_id = ? order by due_on"#,
        visit
    )
    .fetch_all(db)
    .await
}

/// The newest link of the whole chain.
pub(super) async fn newest(db: impl SqliteExecutor<'_>) -> sqlx::Result<Option<Seal>> {
    sqlx::query_as!(Seal, r#"select seq as "seq!", chain from entry order by seq desc limit 1"#)
        .fetch_optional(db)
        .await
}
