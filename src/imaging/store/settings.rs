//! The SQL of where we listen, and of who may call.

use sqlx::SqliteExecutor;

use crate::{clock::At, db::Tx, ids::StaffId};

/// How the practice's equipment reaches us.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    pub enabled: bool,
    /// `192.168.1.20:11112`
    pub address: String,
    pub ae_title: String,
    pub largest_bytes: i64,
    /// How long equipment may say nothing.
    pub idle_seconds: i64,
    /// How long it may stay.
    pub total_minutes: i64,
    pub version: i64,
}

pub async fn get(db: impl SqliteExecutor<'_>) -> sqlx::Result<Settings> {
    sqlx::query_as!(
        Settings,
        r#"select enabled as "enabled: bool", address, ae_title, largest_bytes, idle_seconds, total_minutes, version
           from dicom_settings"#
    )
    .fetch_one(db)
    .await
}

/// Zero rows mean that somebody else was there first.
pub async fn update(tx: &mut Tx, s: &Settings) -> sqlx::Result<u64> {
    let done = sqlx::query!(
        "update dicom_settings set enabled = ?, address = ?, ae_title = ?, largest_bytes = ?, idle_seconds = ?,
                                   total_minutes = ?, version = version + 1
         where version = ?",
        s.enabled,
        s.address,
        s.ae_title,
        s.largest_bytes,
        s.idle_seconds,
        s.total_minutes,
        s.version
    )
    .execute(&mut **tx)
    .await?;
    Ok(done.rows_affected())
}

/// Equipment that may call from beyond this machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    pub ae_title: String,
    pub note: String,
}

pub async fn callers(db: impl SqliteExecutor<'_>) -> sqlx::Result<Vec<Caller>> {
    sqlx::query_as!(Caller, "select ae_title, note from dicom_caller order by ae_title").fetch_all(db).await
}

/// Lets equipment call, or says anew what it is.
pub async fn add_caller(tx: &mut Tx, caller: &Caller, by: StaffId, now: At) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into dicom_caller (ae_title, note, added_by, added_at) values (?, ?, ?, ?)
         on conflict (ae_title) do update set note = excluded.note",
        caller.ae_title,
        caller.note,
        by,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

pub async fn remove_caller(tx: &mut Tx, ae_title: &str) -> sqlx::Result<u64> {
    let done =
        sqlx::query!("delete from dicom_caller where ae_title = ?", ae_title).execute(&mut **tx).await?;
    Ok(done.rows_affected())
}
