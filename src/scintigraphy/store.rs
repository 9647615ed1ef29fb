//! The SQL of the practice's radiation licence, its officers and its meters.

use sqlx::SqliteExecutor;

use crate::{
    clock::{At, Day},
    db::Tx,
    ids::{MeterId, StaffId},
};

/// What the practice has entered of its licence; what it has not is `None` or empty.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Terms {
    pub reference: String,
    pub min_hours: Option<f64>,
    /// At 1 m, microsieverts an hour.
    pub max_usv_h: Option<f64>,
    pub version: i64,
}

pub async fn terms(db: impl SqliteExecutor<'_>) -> sqlx::Result<Terms> {
    sqlx::query_as!(Terms, "select reference, min_hours, max_usv_h, version from radiation_licence")
        .fetch_one(db)
        .await
}

/// Zero rows mean that somebody else was there first.
pub async fn set_terms(tx: &mut Tx, terms: &Terms) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update radiation_licence set reference = ?, min_hours = ?, max_usv_h = ?, version = version + 1
         where version = ?",
        terms.reference,
        terms.min_hours,
        terms.max_usv_h,
        terms.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Somebody who signs that a horse may leave.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Officer {
    pub id: StaffId,
    pub name: String,
}

/// The officers who work here.
pub async fn officers(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Officer>> {
    sqlx::query_as!(
        Officer,
        r#"select s.id as "id: StaffId", s.name from radiation_officer o join staff s on s.id = o.staff_id
           where s.active = 1 order by s.name"#
    )
    .fetch_all(db)
    .await
}

pub async fn add_officer(tx: &mut Tx, who: StaffId, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into radiation_officer (staff_id, added_by, added_at) values (?, ?, ?) on conflict do nothing",
        who,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn remove_officer(tx: &mut Tx, who: StaffId) -> sqlx::Result<u64> {
    let done =
        sqlx::query!("delete from radiation_officer where staff_id = ?", who).execute(&mut **tx).await?;
    Ok(done.rows_affected())
}

/// What dose rates are measured with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meter {
    pub id: MeterId,
    pub name: String,
    pub serial: String,
    pub calibrated_on: Day,
    pub calibration_due: Day,
    pub version: i64,
}

/// The meters in use.
pub async fn meters(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Meter>> {
    sqlx::query_as!(
        Meter,
        r#"select id as "id: MeterId", name, serial, calibrated_on as "calibrated_on: Day",
                  calibration_due as "calibration_due: Day", version
           from survey_meter where in_use = 1 order by name, serial"#
    )
    .fetch_all(db)
    .await
}

/// Whether any meter but this one has the serial number, in use or not.
pub async fn serial_is_taken(db: impl SqliteExecutor<'_>, serial: &str, but: MeterId) -> sqlx::Result<bool> {
    let count =
        sqlx::query_scalar!("select count(*) from survey_meter where serial = ? and id <> ?", serial, but);
    Ok(count.fetch_one(db).await? > 0)
}

pub async fn add_meter(tx: &mut Tx, meter: &Meter) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into survey_meter (id, name, serial, calibrated_on, calibration_due) values (?, ?, ?, ?, ?)",
        meter.id,
        meter.name,
        meter.serial,
        meter.calibrated_on,
        meter.calibration_due
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else was there first.
pub async fn change_meter(tx: &mut Tx, meter: &Meter) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update survey_meter set name = ?, serial = ?, calibrated_on = ?, calibration_due = ?, version = version + 1
         where id = ? and version = ? and in_use = 1",
        meter.name,
        meter.serial,
        meter.calibrated_on,
        meter.calibration_due,
        meter.id,
        meter.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Nobody reads this meter any more; its readings stay.
pub async fn retire_meter(tx: &mut Tx, id: MeterId) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update survey_meter set in_use = 0, version = version + 1 where id = ? and in_use = 1",
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
