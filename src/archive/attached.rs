//! The files of the record, as they are.

use std::{fs::File, io::Read, path::Path};

use sqlx::SqliteConnection;

use super::{
    making::Making,
    manifest::Missing,
    table::{Rows, listed},
};
use crate::attachments;

/// Where they lie in an archive.
pub(super) const FOLDER: &str = "attachments/";
/// So much of a file is held at once.
const PIECE: usize = 256 * 1024;

#[derive(Debug, Clone, sqlx::FromRow)]
pub(super) struct Attached {
    pub sha256: String,
    pub kind: String,
    pub bytes: i64,
}

impl Attached {
    pub(super) fn name(&self) -> String {
        format!("{FOLDER}{}.{}", self.sha256, ending(&self.kind))
    }
}

/// How files of a media type end.
fn ending(kind: &str) -> &'static str {
    match kind {
        "image/jpeg" => "jpg",
        "image/png" => "png",
        "image/webp" => "webp",
        "image/heic" => "heic",
        "image/heif" => "heif",
        "image/gif" => "gif",
        "image/tiff" => "tif",
        "video/mp4" => "mp4",
        "video/quicktime" => "mov",
        "video/webm" => "webm",
        "application/dicom" => "dcm",
        "application/pdf" => "pdf",
        "text/csv" => "csv",
        "text/plain" => "txt",
        _ => "bin",
    }
}

/// The files that are taken, in the order in which they came.
pub(super) async fn list(conn: &mut SqliteConnection, picked: Option<&Rows>) -> sqlx::Result<Vec<Attached>> {
    let places = picked.map(|rows| rows.get("attachment").map_or_else(|| "[]".to_owned(), listed));
    sqlx::query_as(
        "select sha256, kind, bytes from attachment
         where ?1 is null or rowid in (select value from json_each(?1)) order by rowid",
    )
    .bind(places)
    .fetch_all(conn)
    .await
}

/// Writes one file in pieces. A file that is not there, or does not have the bytes that it was kept with, is told.
pub(super) async fn write(
    making: &mut Making,
    data: &Path,
    one: &Attached,
) -> anyhow::Result<Option<Missing>> {
    let missing = |why: &str| Some(Missing { sha256: one.sha256.clone(), why: why.to_owned() });
    let Ok(mut file) = File::open(attachments::path(data, &one.sha256)) else {
        return Ok(missing("it is not in the data folder"));
    };
    if i64::try_from(file.metadata()?.len()).ok() != Some(one.bytes) {
        return Ok(missing("it has not the size that it was kept with"));
    }
    making.begin(&one.name(), true)?;
    let mut piece = vec![0; PIECE];
    loop {
        let read = file.read(&mut piece)?;
        let Some(bytes) = piece.get(..read).filter(|bytes| !bytes.is_empty()) else { break };
        making.write(bytes).await?;
    }
    let damaged = making.end().is_none_or(|file| file.sha256 != one.sha256);
    Ok(if damaged {
        missing("its bytes were changed in the data folder; what is there is in the archive")
    } else {
        None
    })
}
