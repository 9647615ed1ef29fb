//! Files named by what is in them: written aside, synced, renamed, and only then spoken of.

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
};

use anyhow::Context;
use sha2::{Digest, Sha256};

use crate::{ids::SubmissionId, record::hex};

const FOLDER: &str = "attachments";

/// What a file is by its first bytes, whatever it is called; only what browsers show as a picture.
pub(super) fn kind(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xFF, 0xD8, 0xFF, ..] => Some("image/jpeg"),
        [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => Some("image/png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("image/webp"),
        _ => None,
    }
}

/// Where the file of this name lies; a folder for each first byte keeps folders small.
fn path(data: &Path, name: &str) -> PathBuf {
    data.join(FOLDER).join(name.get(..2).unwrap_or("00")).join(name)
}

/// Keeps the bytes and gives their name; the same bytes are kept once.
pub(super) async fn keep(data: &Path, bytes: Vec<u8>) -> anyhow::Result<String> {
    let data = data.to_owned();
    tokio::task::spawn_blocking(move || write(&data, &bytes)).await?
}

fn write(data: &Path, bytes: &[u8]) -> anyhow::Result<String> {
    let name = hex(&Sha256::digest(bytes));
    let path = path(data, &name);
    let folder = path.parent().context("a file lies in a folder")?;
    if path.exists() {
        return Ok(name);
    }
    fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
    let aside = folder.join(format!("{}.new", SubmissionId::new()));
    let mut file = fs::File::create_new(&aside)
        .with_context(|| format!("nothing can be written in {}; is the disk full?", folder.display()))?;
    file.write_all(bytes)?;
    file.sync_all()?;
    fs::rename(&aside, &path)?;
    for folder in [folder, &data.join(FOLDER), data] {
        fs::File::open(folder)?.sync_all()?;
    }
    Ok(name)
}

pub(super) async fn read(data: &Path, name: &str) -> anyhow::Result<Vec<u8>> {
    let path = path(data, name);
    tokio::fs::read(&path).await.with_context(|| format!("{} cannot be read", path.display()))
}
