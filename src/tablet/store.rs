//! The SQL of the tablets' keys.

use sqlx::SqliteExecutor;

use crate::{
    clock::At,
    db::Tx,
    ids::{DeviceId, StaffId},
};

pub(super) async fn wrapped(
    db: impl SqliteExecutor<'_>,
    staff: StaffId,
    device: DeviceId,
) -> sqlx::Result<Option<Vec<u8>>> {
    sqlx::query_scalar!(
        "select wrapped_key from tablet_key where staff_id = ? and device_id = ?",
        staff,
        device
    )
    .fetch_optional(db)
    .await
}

pub(super) async fn insert(
    tx: &mut Tx,
    staff: StaffId,
    device: DeviceId,
    wrapped: &[u8],
    now: At,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into tablet_key (staff_id, device_id, wrapped_key, created_at) values (?, ?, ?, ?)",
        staff,
        device,
        wrapped,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}
