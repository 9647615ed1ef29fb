//! The SQL of horses: the row itself, its people and its weights.

pub mod condition;
mod lists;

pub use lists::{Listed, at_yard, list, of_client};

use sqlx::SqliteExecutor;

use super::{Card, Details, Known, NewParty, PartyRole, Sex, Status};
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{ClientId, HorseId, PartyId, StaffId, WeightId, YardId},
    search,
};

/// The top of every page about this horse.
pub async fn card(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<Card> {
    sqlx::query_as!(
        Card,
        r#"select h.id as "id: HorseId", h.name, h.stable_name, h.sex as "sex: Sex", h.neutered as "neutered: Known",
                  h.born, h.breed, h.colour, h.status as "status: Status", h.status_on as "status_on: Day", h.food_chain,
                  h.insurance, h.temperament, h.temperament_note, h.yard_id as "yard_id: YardId", y.name as "yard?",
                  (select u.kg from horse_weight_used u where u.horse_id = h.id) as "kg: f64",
                  (select c.name from party p join client c on c.id = p.client_id
                   where p.horse_id = h.id and p.role = 'owner' order by p.created_at limit 1) as "owner: String",
                  (select group_concat(m.kind || '|' || m.disease || '|' || m.from_on || '|' || coalesce(m.until_on, '')
                                       || '|' || case when m.yard_id is null then 'horse' else 'yard' end, char(10))
                   from biosecurity_mark m
                   where m.lifted_at is null and (m.horse_id = h.id or m.yard_id = h.yard_id)) as "marks: String"
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
    insert_as(tx, id, d, now).await?;
    Ok(id)
}

/// Enters a horse under an id that was made elsewhere: on a tablet away from the practice.
pub async fn insert_as(tx: &mut Tx, id: HorseId, d: &Details, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into horse (id, name, sex, neutered, created_at) values (?, ?, ?, ?, ?)",
        id,
        d.name,
        d.sex,
        d.neutered,
        now
    )
    .execute(&mut **tx)
    .await?;
    write(tx, id, d).await
}

/// Changes a horse whose row still has `version`; zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, id: HorseId, version: i64, d: &Details) -> sqlx::Result<u64> {
    let done =
        sqlx::query!("update horse set version = version + 1 where id = ? and version = ?", id, version)
            .execute(&mut **tx)
            .await?;
    if done.rows_affected() == 1 {
        write(tx, id, d).await?;
    }
    Ok(done.rows_affected())
}

/// Everything an edit form holds, into a row that is there.
async fn write(tx: &mut Tx, id: HorseId, d: &Details) -> sqlx::Result<()> {
    sqlx::query!(
        "update horse set name = ?, stable_name = ?, sex = ?, neutered = ?, born = ?, breed = ?, breed_code = ?,
                colour = ?, markings = ?, height_cm = ?, work_use = ?, work_level = ?, microchip = ?,
                microchip_other = ?, ueln = ?, passport = ?, food_chain = ?, insurance = ?, temperament = ?,
                temperament_note = ?, yard_id = ?
         where id = ?",
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
        id
    )
    .execute(&mut **tx)
    .await?;
    search::refresh_horse(tx, id).await
}

/// A horse's row for its edit form.
pub async fn details(db: impl SqliteExecutor<'_>, id: HorseId) -> sqlx::Result<(Details, i64)> {
    let r = sqlx::query!(
        r#"select name, stable_name, sex as "sex: Sex", neutered as "neutered: Known", born, breed, breed_code, colour,
                  markings, height_cm, work_use, work_level, microchip, microchip_other, ueln, passport, food_chain,
                  insurance, temperament, temperament_note, yard_id as "yard_id: YardId", version
           from horse where id = ?"#,
        id
    )
    .fetch_one(db)
    .await?;
    let details = Details {
        name: r.name,
        stable_name: r.stable_name,
        sex: r.sex,
        neutered: r.neutered,
        born: r.born,
        breed: r.breed,
        breed_code: r.breed_code,
        colour: r.colour,
        markings: r.markings,
        height_cm: r.height_cm,
        work_use: r.work_use,
        work_level: r.work_level,
        microchip: r.microchip,
        microchip_other: r.microchip_other,
        ueln: r.ueln,
        passport: r.passport,
        food_chain: r.food_chain,
        insurance: r.insurance,
        temperament: r.temperament,
        temperament_note: r.temperament_note,
        yard_id: r.yard_id,
    };
    Ok((details, r.version))
}

/// Says whether the horse is still here; zero rows mean that somebody else was there first.
pub async fn set_status(
    tx: &mut Tx,
    id: HorseId,
    version: i64,
    status: Status,
    on: Day,
) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update horse set status = ?, status_on = ?, version = version + 1 where id = ? and version = ?",
        status,
        on,
        id,
        version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// The other living horses that carry this microchip: one of the numbers was read wrongly.
pub async fn same_chip(
    db: impl SqliteExecutor<'_>,
    id: HorseId,
    chip: &str,
) -> sqlx::Result<Vec<(HorseId, String)>> {
    let rows = sqlx::query!(
        r#"select id as "id: HorseId", name from horse
           where microchip = ? and microchip <> '' and id <> ? and status <> 'dead' order by name"#,
        chip,
        id
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| (r.id, r.name)).collect())
}

/// A client's tie to a horse.
#[derive(Debug, Clone)]
pub struct Party {
    pub id: PartyId,
    pub client_id: ClientId,
    pub name: String,
    pub phone: Option<String>,
    pub role: PartyRole,
    pub may_authorise: bool,
    pub pays: bool,
    pub gets_reports: bool,
}

/// Who belongs to a horse, owners first.
pub async fn parties(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Party>> {
    sqlx::query_as!(
        Party,
        r#"select p.id as "id: PartyId", p.client_id as "client_id: ClientId", c.name, p.role as "role: PartyRole",
                  (select number from client_phone where client_id = c.id order by position limit 1) as "phone: String",
                  p.may_authorise as "may_authorise: bool", p.pays as "pays: bool", p.gets_reports as "gets_reports: bool"
           from party p join client c on c.id = p.client_id
           where p.horse_id = ? order by p.role <> 'owner', p.created_at"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// Somebody who belonged to a horse before.
#[derive(Debug, Clone)]
pub struct Former {
    pub client_id: ClientId,
    pub name: String,
    pub role: PartyRole,
    pub began_at: At,
    pub ended_at: At,
}

/// Who belonged to a horse and does not any more, the last first.
pub async fn former(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Former>> {
    sqlx::query_as!(
        Former,
        r#"select p.client_id as "client_id: ClientId", c.name, p.role as "role: PartyRole", p.began_at as "began_at: At",
                  p.ended_at as "ended_at: At"
           from party_past p join client c on c.id = p.client_id where p.horse_id = ? order by p.ended_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
}

/// Since when the horse belongs to whom it belongs to today: the last time that an owner left who is not one again. `None`
/// where no owner ever left. What lies before it is not for the present owner, whoever owned it together with them.
pub async fn owned_since(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Option<At>> {
    sqlx::query_scalar!(
        r#"select max(p.ended_at) as "at: At" from party_past p
           where p.horse_id = ? and p.role = 'owner' and not exists (
               select 1 from party n where n.horse_id = p.horse_id and n.client_id = p.client_id and n.role = 'owner')"#,
        horse
    )
    .fetch_one(db)
    .await
}

/// One weighing; `method` is `scale`, `formula`, `tape` or `estimate`.
#[derive(Debug, Clone)]
pub struct Weight {
    pub kg: f64,
    pub method: String,
    pub weighed_on: Day,
    /// Code of the formula, for one that was reckoned.
    pub formula: Option<String>,
    /// What was measured for it, as JSON in cm.
    pub measures: Option<String>,
}

/// A horse's weights, newest first.
pub async fn weights(db: impl SqliteExecutor<'_>, horse: HorseId) -> sqlx::Result<Vec<Weight>> {
    sqlx::query_as!(
        Weight,
        r#"select kg, method, weighed_on as "weighed_on: Day", formula, measures from horse_weight
           where horse_id = ? order by weighed_on desc, created_at desc"#,
        horse
    )
    .fetch_all(db)
    .await
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

/// Takes a client off a horse. That they belonged to it is kept: what was said with them is not for who comes after.
pub async fn remove_party(
    tx: &mut Tx,
    horse: HorseId,
    party: PartyId,
    by: StaffId,
    now: At,
) -> sqlx::Result<u64> {
    let past = PartyId::new();
    sqlx::query!(
        "insert into party_past (id, horse_id, client_id, role, began_at, ended_at, ended_by)
         select ?, horse_id, client_id, role, created_at, ?, ? from party where id = ? and horse_id = ?",
        past,
        now,
        by,
        party,
        horse
    )
    .execute(&mut **tx)
    .await?;
    let done = sqlx::query!("delete from party where id = ? and horse_id = ?", party, horse)
        .execute(&mut **tx)
        .await?;
    search::refresh_horse(tx, horse).await?;
    Ok(done.rows_affected())
}

pub async fn add_weight(
    tx: &mut Tx,
    horse: HorseId,
    new: &Weight,
    by: StaffId,
    now: At,
) -> sqlx::Result<WeightId> {
    let id = WeightId::new();
    sqlx::query!(
        "insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at, formula, measures)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        horse,
        new.kg,
        new.method,
        new.weighed_on,
        by,
        now,
        new.formula,
        new.measures
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
