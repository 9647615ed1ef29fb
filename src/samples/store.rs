//! The SQL of laboratories, and of what is planned for the samples of an order.

use sqlx::SqliteExecutor;

use super::{Laboratory, Plan};
use crate::{
    clock::At,
    db::Tx,
    ids::{HorseId, LaboratoryId, OrderId, StaffId},
    record::{Body, Kind},
};

/// The laboratories, those in use first.
pub async fn laboratories(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Laboratory>> {
    sqlx::query_as!(
        Laboratory,
        r#"select id as "id: LaboratoryId", name, address, phone, email, result_route, arrive_days, steps, ck_low,
                  ck_high, ast_low, ast_high, range_unit, range_source, in_use as "in_use: bool", version
           from laboratory order by in_use desc, name"#
    )
    .fetch_all(db)
    .await
}

pub async fn insert(tx: &mut Tx, new: &Laboratory, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into laboratory (id, name, address, phone, email, result_route, arrive_days, steps, ck_low, ck_high,
                                 ast_low, ast_high, range_unit, range_source, in_use, created_by, created_at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        new.id,
        new.name,
        new.address,
        new.phone,
        new.email,
        new.result_route,
        new.arrive_days,
        new.steps,
        new.ck_low,
        new.ck_high,
        new.ast_low,
        new.ast_high,
        new.range_unit,
        new.range_source,
        new.in_use,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, new: &Laboratory) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update laboratory set name = ?, address = ?, phone = ?, email = ?, result_route = ?, arrive_days = ?, steps = ?,
                               ck_low = ?, ck_high = ?, ast_low = ?, ast_high = ?, range_unit = ?, range_source = ?,
                               in_use = ?, version = version + 1
         where id = ? and version = ?",
        new.name,
        new.address,
        new.phone,
        new.email,
        new.result_route,
        new.arrive_days,
        new.steps,
        new.ck_low,
        new.ck_high,
        new.ast_low,
        new.ast_high,
        new.range_unit,
        new.range_source,
        new.in_use,
        new.id,
        new.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// What is planned; nothing said, with version 0, for an order that nobody planned.
pub async fn plan(db: impl SqliteExecutor<'_>, order: OrderId) -> sqlx::Result<Plan> {
    let kept = sqlx::query_as!(
        Plan,
        r#"select suspicion, protocol, laboratory_id as "laboratory: LaboratoryId", version
           from sample_plan where order_id = ?"#,
        order
    )
    .fetch_optional(db)
    .await?;
    Ok(kept.unwrap_or_default())
}

/// Plans, in the place of the plan with this version; zero rows mean that somebody else was there first.
pub async fn set_plan(tx: &mut Tx, order: OrderId, new: &Plan) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "insert into sample_plan (order_id, suspicion, protocol, laboratory_id)
         select ?1, ?2, ?3, ?4
         where ?5 = coalesce((select version from sample_plan where order_id = ?1), 0)
         on conflict (order_id) do update set suspicion = ?2, protocol = ?3, laboratory_id = ?4, version = version + 1",
        order,
        new.suspicion,
        new.protocol,
        new.laboratory,
        new.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// The entries of a horse that stand, of this kind; of a report, those of orders of this study only.
pub async fn of_horse(
    db: impl SqliteExecutor<'_>,
    horse: HorseId,
    kind: Kind,
    study: Option<&str>,
) -> sqlx::Result<Vec<Body>> {
    let rows = sqlx::query_scalar!(
        r#"select e.body as "body!" from visit v join entry e on e.visit_id = v.id
           join diagnostic_order o on o.key = e.order_id
           where v.horse_id = ?1 and e.kind = ?2 and e.body is not null and (?3 is null or o.study = ?3)
             and not exists (select 1 from entry later where later.supersedes = e.id)
           order by e.seq"#,
        horse,
        kind,
        study
    )
    .fetch_all(db)
    .await?;
    rows.iter().map(|body| serde_json::from_str(body).map_err(|e| sqlx::Error::Decode(e.into()))).collect()
}
