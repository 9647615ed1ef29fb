//! The SQL of files.

use super::Kept;
use crate::{clock::At, db::Tx};

/// Says what a kept file is, by its media type.
pub async fn insert(tx: &mut Tx, kept: &Kept, kind: &str, now: At) -> anyhow::Result<()> {
    let bytes = i64::try_from(kept.bytes)?;
    sqlx::query!(
        "insert into attachment (sha256, kind, bytes, created_at) values (?, ?, ?, ?) on conflict do nothing",
        kept.name,
        kind,
        bytes,
        now
    )
    .execute(&mut **tx)
    .await?;
    Ok(())
}

/// Megabytes, or kilobytes of what is small: `12.3 MB`.
pub fn size(bytes: i64) -> String {
    let kilo = (bytes + 1023) / 1024;
    if kilo < 1024 { format!("{kilo} KB") } else { format!("{}.{} MB", kilo / 1024, kilo % 1024 * 10 / 1024) }
}
