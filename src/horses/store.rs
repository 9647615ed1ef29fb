//! The SQL of horses.

use sqlx::SqliteExecutor;

use super::{Card, Details, Known, NewParty, Sex, Status};
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{HorseId, PartyId, StaffId, WeightId, YardId},
    search,
};

/// The top of every page about this horse.
pub async fn card(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<Card> {
    sqlx::query_as!(
        Card,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.sex as "sex: Sex", h.neutered as "neutered: Known",
                  h.born, h.breed, h.colour, h.status as "status: Status", h.status_on as "status_on: Day", h.food_chain,
                  h.insurance, h.temperament, h.temperament_note, h.yard_id as "yard_id: YardId", y.name as "yard?",
                  (select w.kg from horse_weight w where w.horse_id = h.id
                   order by w.weighed_on desc, w.created_at desc limit 1) as "kg: f64",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String"
           from horse h left join yard y on y.id = h.yard_id
           where h.id = ?"#,
        id
    )
    .fetch_one(db)
    .await
}

/// Whether visits may be booked and reminders go out: not for a horse that was sold or is dead.
pub async fn is_seen(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<bool> {
    let status = sqlx::query_scalar!(r#"select status as "status: Status" from horse where id = ?"#, id)
        .fetch_one(db)
        .await?;
    Ok(status.is_seen())
}

pub async fn insert(tx: &mut Tx, d: &Details, now: At) -> sqlx::Result<HorseId> {
    let id = HorseId::new();
    sqlx::query!(
        "insert into horse (id, name, stable_name, sex, neutered, born, breed, breed_code, colour, markings, height_cm,
                            work_use, work_level, microchip, microchip_other, ueln, passport, food_chain, insurance,
                            temperament, temperament_note, yard_id, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        d.name,
        d.stable_name,
        d.sex,
        d.neutered,
        d.born,
        d.breed,
        d.breed_code,
        d.colour,
        d.markings,
        d.height_cm,
        d.work_use,
        d.work_level,
        d.microchip,
        d.microchip_other,
        d.ueln,
        d.passport,
        d.food_chain,
        d.insurance,
        d.temperament,
        d.temperament_note,
        d.yard_id,
        now
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_horse(tx, id).await?;
    Ok(id)
}

/// Changes a horse whose row still has `version`; zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, id: HorseId, version: i64, d: &Details) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update horse set name = ?, stable_name = ?, sex = ?, neutered = ?, born = ?, breed = ?, breed_code = ?,
                colour = ?, markings = ?, height_cm = ?, work_use = ?, work_level = ?, microchip = ?,
                microchip_other = ?, ueln = ?, passport = ?, food_chain = ?, insurance = ?, temperament = ?,
                temperament_note = ?, yard_id = ?, version = version + 1
         where id = ? and version = ?",
        d.name,
        d.stable_name,
        d.sex,
        d.neutered,
        d.born,
        d.breed,
        d.breed_code,
        d.colour,
        d.markings,
        d.height_cm,
        d.work_use,
        d.work_level,
        d.microchip,
        d.microchip_other,
        d.ueln,
        d.passport,
        d.food_chain,
        d.insurance,
        d.temperament,
        d.temperament_note,
        d.yard_id,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_horse(tx, id).await?;
    Ok(done.rows_affected())
}

pub async fn add_party(tx: &mut Tx, horse: HorseId, new: &NewParty, now: At) -> sqlx::Result<PartyId> {
    let id = PartyId::new();
    sqlx::query!(
        "insert into party (id, horse_id, client_id, role, may_authorise, pays, gets_reports, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        new.client,
        new.role,
        new.may_authorise,
        new.pays,
        new.gets_reports,
        now
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_horse(tx, horse).await?;
    Ok(id)
}

/// Takes a client off a horse; nothing is lost but the tie.
pub async fn remove_party(tx: &mut Tx, horse: HorseId, party: PartyId) -> sqlx::Result<u64> {
    let done = sqlx::query!("delete from party where id = ? and horse_id = ?", party, horse)
        .execute(&mut **tx)
        .await?;
    search::refresh_horse(tx, horse).await?;
    Ok(done.rows_affected())
}

/// A weight on its way in; `method` is `scale`, `tape` or `estimate`.
#[derive(Debug, Clone)]
pub struct NewWeight {
    pub kg: f64,
    pub method: String,
    pub weighed_on: Day,
}

pub async fn add_weight(
    tx: &mut Tx,
    horse: HorseId,
    new: &NewWeight,
    by: StaffId,
    now: At,
) -> sqlx::Result<WeightId> {
    let id = WeightId::new();
    sqlx::query!(
        "insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        new.kg,
        new.method,
        new.weighed_on,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(id)
}

/// Notes where a horse stands that has no yard yet; one that has keeps its own.
pub async fn stands_at(tx: &mut Tx, horse: HorseId, yard: YardId) -> sqlx::Result<()> {
    let done = sqlx::query!("update horse set yard_id = ? where id = ? and yard_id is null", yard, horse)
        .execute(&mut **tx)
        .await?;
    if done.rows_affected() == 1 {
        search::refresh_horse(tx, horse).await?;
    }
    Ok(())
}
