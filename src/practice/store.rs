//! The SQL of the practice's one row.

use jiff::tz::TimeZone;
use sqlx::SqliteExecutor;

use super::Practice;
use crate::{clock::At, db::Tx};

/// The practice, or `RowNotFound` before it was set up.
pub async fn get(db: impl SqliteExecutor<'_>) -> sqlx::Result<Practice> {
    let row = sqlx::query!(
        r#"select name, zone, weight_unit, height_unit, temperature_unit, lameness_scale, exam_order,
                  invented as "invented: bool", version
           from practice"#
    )
    .fetch_one(db)
    .await?;
    Ok(Practice {
        name: row.name,
        zone: TimeZone::get(&row.zone).unwrap_or(TimeZone::UTC),
        zone_name: row.zone,
        weight_unit: row.weight_unit,
        height_unit: row.height_unit,
        temperature_unit: row.temperature_unit,
        lameness_scale: row.lameness_scale,
        exam_order: row.exam_order,
        invented: row.invented,
        version: row.version,
    })
}

pub async fn is_set_up(db: impl SqliteExecutor<'_>) -> sqlx::Result<bool> {
    Ok(sqlx::query_scalar!("select count(*) from practice").fetch_one(db).await? > 0)
}

/// Makes the practice's one row; a second time is refused by the database.
pub async fn insert(tx: &mut Tx, p: &Practice, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into practice (id, name, zone, weight_unit, height_unit, temperature_unit, lameness_scale, exam_order,
                               invented, set_up_at)
         values (1, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        p.name,
        p.zone_name,
        p.weight_unit,
        p.height_unit,
        p.temperature_unit,
        p.lameness_scale,
        p.exam_order,
        p.invented,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Changes how the practice works; zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, p: &Practice) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update practice set name = ?, zone = ?, weight_unit = ?, height_unit = ?, temperature_unit = ?,
                             lameness_scale = ?, exam_order = ?, version = version + 1
         where version = ?",
        p.name,
        p.zone_name,
        p.weight_unit,
        p.height_unit,
        p.temperature_unit,
        p.lameness_scale,
        p.exam_order,
        p.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}
