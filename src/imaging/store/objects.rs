//! The SQL of what came in.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    diagnostics,
    ids::{ArrivalId, ItemId, OrderId, StaffId},
    imaging::{How, Source, object::Seen, take::Bringer},
};

/// Notes an object; `None` when the same one is here already.
pub(crate) async fn insert(
    tx: &mut Tx,
    seen: &Seen,
    sha256: &str,
    from: &Bringer,
    now: At,
) -> sqlx::Result<Option<ArrivalId>> {
    let id = ArrivalId::new();
    let done = sqlx::query!(
        "insert into dicom_object (id, sop_instance_uid, sha256, transfer_syntax, sop_class, study_uid, series_uid,
                                   modality, accession, patient_id, patient_name, body_part, view_position, view_name,
                                   laterality, series_number, instance_number, frames, pixel_rows, pixel_columns,
                                   acquired, received_at, calling_ae, source)
         values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
         on conflict (sop_instance_uid, sha256) do nothing",
        id,
        seen.sop_instance,
        sha256,
        seen.transfer_syntax,
        seen.sop_class,
        seen.study_uid,
        seen.series_uid,
        seen.modality,
        seen.accession,
        seen.patient_id,
        seen.patient_name,
        seen.body_part,
        seen.view_position,
        seen.view_name,
        seen.laterality,
        seen.series_number,
        seen.instance_number,
        seen.frames,
        seen.rows,
        seen.columns,
        seen.acquired,
        now,
        from.name,
        from.source
    )
    .execute(&mut **tx)
    .await?;
    Ok((done.rows_affected() == 1).then_some(id))
}

/// How many different objects came under this instance UID.
pub(crate) async fn under_uid(db: impl SqliteExecutor<'_>, uid: &str) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from dicom_object where sop_instance_uid = ?", uid)
        .fetch_one(db)
        .await
}

/// The order that an object belongs to, and who says so.
#[derive(Debug, Clone, Copy)]
pub struct Match {
    pub order: OrderId,
    pub item: Option<ItemId>,
    pub how: How,
    /// `None` when the program found it.
    pub by: Option<StaffId>,
}

/// Joins an object that waits to its order; zero rows mean that it waits no longer.
///
/// An item whose picture came is taken. That is a change of its state without a step in the order's history: a step is
/// something that a person did, and here nobody did anything. What came, from where and when stands with the object.
pub async fn set_match(tx: &mut Tx, id: ArrivalId, to: &Match, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update dicom_object set order_id = ?, item_id = ?, matched_how = ?, matched_by = ?, matched_at = ?,
                                 version = version + 1
         where id = ? and order_id is null and set_aside_at is null",
        to.order,
        to.item,
        to.how,
        to.by,
        now,
        id
    )
    .execute(&mut **tx)
    .await?;
    if let (1, Some(item)) = (done.rows_affected(), to.item) {
        diagnostics::store::picture_came(tx, item, to.by, now).await?;
    }
    Ok(done.rows_affected())
}

/// Puts an object away that belongs to no order; zero rows mean that it waits no longer.
pub async fn set_aside(tx: &mut Tx, id: ArrivalId, reason: &str, by: StaffId, now: At) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update dicom_object set set_aside_reason = ?, set_aside_by = ?, set_aside_at = ?, version = version + 1
         where id = ? and order_id is null and set_aside_at is null",
        reason,
        by,
        now,
        id
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// An object that waits for a person.
#[derive(Debug, Clone)]
pub struct Arrival {
    pub id: ArrivalId,
    pub sop_instance_uid: String,
    pub study_uid: String,
    pub modality: String,
    pub patient_id: String,
    pub patient_name: String,
    pub body_part: String,
    pub view_position: String,
    pub view_name: String,
    pub laterality: String,
    pub acquired: String,
    pub received_at: At,
    pub calling_ae: String,
    pub source: Source,
    /// Different objects under its instance UID.
    pub under_uid: i64,
}

/// The rows of a condition, the newest first.
macro_rules! arrivals {
    ($which:tt, $($value:expr),*) => {
        sqlx::query_as!(
            Arrival,
            r#"select id as "id: ArrivalId", sop_instance_uid, study_uid, modality, patient_id, patient_name, body_part,
                      view_position, view_name, laterality, acquired, received_at as "received_at: At", calling_ae,
                      source as "source: Source",
                      (select count(*) from dicom_object o where o.sop_instance_uid = dicom_object.sop_instance_uid)
                        as "under_uid!: i64"
               from dicom_object where "# + $which,
            $($value),*
        )
    };
}

/// What waits, the newest first, and no more than `limit`.
pub async fn waiting(db: impl SqliteExecutor<'_>, limit: i64) -> sqlx::Result<Vec<Arrival>> {
    arrivals!("order_id is null and set_aside_at is null order by received_at desc, id desc limit ?", limit)
        .fetch_all(db)
        .await
}

/// How many objects wait.
pub async fn count_waiting(db: impl SqliteExecutor<'_>) -> sqlx::Result<i64> {
    sqlx::query_scalar!("select count(*) from dicom_object where order_id is null and set_aside_at is null")
        .fetch_one(db)
        .await
}

/// One that waits.
pub async fn get_waiting(db: impl SqliteExecutor<'_>, id: ArrivalId) -> sqlx::Result<Option<Arrival>> {
    arrivals!("id = ? and order_id is null and set_aside_at is null", id).fetch_optional(db).await
}
