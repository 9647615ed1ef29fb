//! The SQL of decisions about what came in: how one stands, and what becomes of it when a person takes it back.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{ArrivalId, DecisionId, ItemId, OrderId, StaffId},
    imaging::How,
};

/// Where an object went, by whom, and when.
#[derive(Debug, Clone)]
pub struct Decided {
    pub id: ArrivalId,
    pub sha256: String,
    /// The order that it is with; none where it was set aside.
    pub order_id: Option<OrderId>,
    pub item_id: Option<ItemId>,
    pub how: Option<How>,
    pub set_aside_reason: String,
    /// `None` when the program matched it.
    pub by_id: Option<StaffId>,
    pub by: Option<String>,
    pub at: At,
    pub modality: String,
    pub patient_name: String,
    pub version: i64,
}

/// The decided objects that a condition picks.
macro_rules! decided {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Decided,
            r#"select d.id as "id: ArrivalId", d.sha256, d.order_id as "order_id: OrderId", d.item_id as "item_id: ItemId",
                      d.matched_how as "how: How", d.set_aside_reason,
                      coalesce(d.matched_by, d.set_aside_by) as "by_id: StaffId", s.name as "by?",
                      coalesce(d.matched_at, d.set_aside_at) as "at!: At", d.modality, d.patient_name, d.version
               from dicom_object d left join staff s on s.id = coalesce(d.matched_by, d.set_aside_by)
               where "# + $which,
            $($value),*
        )
    };
}

pub async fn get(db: impl SqliteExecutor<'_>, id: ArrivalId) -> sqlx::Result<Option<Decided>> {
    decided!("d.id = ? and (d.order_id is not null or d.set_aside_at is not null)", id)
        .fetch_optional(db)
        .await
}

/// What was set aside, the last first, and no more than `limit`.
pub async fn set_aside(db: impl SqliteExecutor<'_>, limit: i64) -> sqlx::Result<Vec<Decided>> {
    decided!("d.set_aside_at is not null order by d.set_aside_at desc, d.id desc limit ?", limit)
        .fetch_all(db)
        .await
}

/// The others that one deed decided together with this one.
pub async fn together_with(db: impl SqliteExecutor<'_>, one: &Decided) -> sqlx::Result<Vec<Decided>> {
    decided!(
        "d.id <> ? and d.order_id is ? and coalesce(d.matched_at, d.set_aside_at) = ?
         and coalesce(d.matched_by, d.set_aside_by) is ? order by d.id",
        one.id,
        one.order_id,
        one.at,
        one.by_id
    )
    .fetch_all(db)
    .await
}

/// Frees an object from its decision, and keeps what it was and why; zero rows mean that it was decided otherwise
/// meanwhile. An item that nothing but this picture made taken is wanted again.
pub async fn take_back(tx: &mut Tx, was: &Decided, reason: &str, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update dicom_object set order_id = null, item_id = null, matched_how = null, matched_by = null, matched_at = null,
                                 set_aside_reason = '', set_aside_by = null, set_aside_at = null, version = version + 1
         where id = ? and version = ? and (order_id is not null or set_aside_at is not null)",
        was.id,
        was.version
    )
    .execute(&mut **tx)
    .await?;
    if done.rows_affected() == 0 {
        return Ok(0);
    }
    let id = DecisionId::new();
    sqlx::query!(
        "insert into dicom_taken_back (id, object_id, order_id, item_id, matched_how, set_aside_reason, decided_by,
                                       decided_at, reason, by_id, at)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        id,
        was.id,
        was.order_id,
        was.item_id,
        was.how,
        was.set_aside_reason,
        was.by_id,
        was.at,
        reason,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    sqlx::query!(
        "update diagnostic_item set state = 'wanted', changed_by = ?, changed_at = ?, version = version + 1
         where id = ? and state = 'taken' and changed_at = ?
           and not exists (select 1 from dicom_object d where d.item_id = diagnostic_item.id)",
        by,
        now,
        was.item_id,
        was.at
    )
    .execute(&mut **tx)
    .await?;
    Ok(1)
}

/// A decision about an object that was taken back.
#[derive(Debug, Clone)]
pub struct TakenBack {
    /// The number of the order that it was with.
    pub accession: Option<String>,
    pub set_aside_reason: String,
    pub reason: String,
    pub by: String,
    pub at: At,
}

/// What was decided about an object and taken back, the first first.
pub async fn taken_back(db: impl SqliteExecutor<'_>, object: ArrivalId) -> sqlx::Result<Vec<TakenBack>> {
    sqlx::query_as!(
        TakenBack,
        r#"select o.accession as "accession?", t.set_aside_reason, t.reason, s.name as by, t.at as "at: At"
           from dicom_taken_back t join staff s on s.id = t.by_id left join diagnostic_order o on o.id = t.order_id
           where t.object_id = ? order by t.at, t.id"#,
        object
    )
    .fetch_all(db)
    .await
}
