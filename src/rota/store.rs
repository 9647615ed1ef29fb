//! The SQL of the rota.

use std::collections::HashMap;

use sqlx::SqliteExecutor;

use super::{Cell, Person};
use crate::{
    clock::{At, Day},
    db::Tx,
    ids::StaffId,
    reasoning::watch::Part,
};

/// Every cell of the pattern, by week, weekday and part.
pub async fn pattern(db: impl SqliteExecutor<'_>) -> sqlx::Result<HashMap<(i64, i64, Part), Cell>> {
    let rows = sqlx::query!(
        r#"select week, weekday, part as "part: Part", first_id as "first: StaffId", backup_id as "backup: StaffId"
           from rota_pattern"#
    )
    .fetch_all(db)
    .await?;
    let cell = |first, backup| Cell { first, backup };
    Ok(rows.into_iter().map(|r| ((r.week, r.weekday, r.part), cell(r.first, r.backup))).collect())
}

/// The single days between two days, both of them too.
pub async fn single(
    db: impl SqliteExecutor<'_>,
    from: Day,
    until: Day,
) -> sqlx::Result<HashMap<(Day, Part), Cell>> {
    let rows = sqlx::query!(
        r#"select day as "day: Day", part as "part: Part", first_id as "first: StaffId", backup_id as "backup: StaffId"
           from rota_day where day between ? and ?"#,
        from,
        until
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|r| ((r.day, r.part), Cell { first: r.first, backup: r.backup })).collect())
}

/// The vets who work here, with the telephone on which each is reached.
pub async fn people(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Person>> {
    sqlx::query_as!(
        Person,
        r#"select s.id as "id: StaffId", s.name, coalesce(r.phone, '') as "phone!: String"
           from staff s left join vet_round r on r.staff_id = s.id
           where s.licensed = 1 and s.active = 1 order by s.name"#
    )
    .fetch_all(db)
    .await
}

/// Who set the rota last, and when.
#[derive(Debug, Clone)]
pub struct Change {
    pub version: i64,
    pub by: String,
    pub at: At,
}

/// None while nobody has set it.
pub async fn last_change(db: impl SqliteExecutor<'_>) -> sqlx::Result<Option<Change>> {
    sqlx::query_as!(
        Change,
        r#"select c.version as "version!", s.name as by, c.at as "at: At" from rota_change c join staff s on s.id = c.by_id
           order by c.version desc limit 1"#
    )
    .fetch_optional(db)
    .await
}

/// A line of the rota's own history.
pub struct NewChange<'a> {
    pub version: i64,
    pub what: &'a str,
    pub monday: Day,
    pub by: StaffId,
    pub at: At,
}

pub async fn note(tx: &mut Tx, new: &NewChange<'_>) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into rota_change (version, what, monday, by_id, at) values (?, ?, ?, ?, ?)",
        new.version,
        new.what,
        new.monday,
        new.by,
        new.at
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn set_pattern(
    tx: &mut Tx,
    (week, weekday, part): (i64, i64, Part),
    cell: Cell,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into rota_pattern (week, weekday, part, first_id, backup_id) values (?, ?, ?, ?, ?)
         on conflict (week, weekday, part) do update set first_id = excluded.first_id, backup_id = excluded.backup_id",
        week,
        weekday,
        part,
        cell.first,
        cell.backup
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// A day without any name of its own has no row.
pub async fn set_single(tx: &mut Tx, (day, part): (Day, Part), cell: Cell) -> sqlx::Result<()> {
    if cell == Cell::default() {
        sqlx::query!("delete from rota_day where day = ? and part = ?", day, part).execute(&mut **tx).await?;
        return Ok(());
    }
    sqlx::query!(
        "insert into rota_day (day, part, first_id, backup_id) values (?, ?, ?, ?)
         on conflict (day, part) do update set first_id = excluded.first_id, backup_id = excluded.backup_id",
        day,
        part,
        cell.first,
        cell.backup
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
