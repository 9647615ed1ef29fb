//! A file on its way in: written aside while it is digested, synced, renamed, and only then spoken of.

use std::{
    fs::{self, File},
    io::{self, Write},
    path::{Path, PathBuf},
};

use anyhow::Context;
use sha2::{Digest, Sha256};

use crate::{ids::SubmissionId, record::hex};

pub(super) const FOLDER: &str = "attachments";
/// What is not whole yet. It lies in the same folder as the rest, since a rename does not cross disks.
const INCOMING: &str = "incoming";

/// A file that is safe: its name and its size.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// The SHA-256 of its bytes, in letters.
    pub name: String,
    pub bytes: u64,
}

/// Where the file of this name lies; a folder for each first byte keeps folders small.
pub fn path(data: &Path, name: &str) -> PathBuf {
    data.join(FOLDER).join(name.get(..2).unwrap_or("00")).join(name)
}

/// The names of all files that are kept, in no order.
///
/// # Errors
/// A folder cannot be read.
pub fn names(data: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    let folders = match fs::read_dir(data.join(FOLDER)) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(names),
        read => read?,
    };
    for folder in folders {
        let folder = folder?;
        if folder.file_name() == INCOMING || !folder.file_type()?.is_dir() {
            continue;
        }
        for file in fs::read_dir(folder.path())? {
            names.push(file?.file_name().to_string_lossy().into_owned());
        }
    }
    Ok(names)
}

/// A file that is being written. Dropped before [`Incoming::finish`], it leaves nothing behind.
pub struct Incoming {
    data: PathBuf,
    aside: PathBuf,
    file: File,
    digest: Sha256,
    bytes: u64,
}

impl Incoming {
    /// # Errors
    /// The disk is full or cannot be written.
    pub fn begin(data: &Path) -> anyhow::Result<Self> {
        let folder = data.join(FOLDER).join(INCOMING);
        fs::create_dir_all(&folder).with_context(|| format!("{} cannot be made", folder.display()))?;
        let aside = folder.join(SubmissionId::new().to_string());
        let file = File::create_new(&aside)
            .with_context(|| format!("nothing can be written in {}; is the disk full?", folder.display()))?;
        Ok(Incoming { data: data.to_owned(), aside, file, digest: Sha256::new(), bytes: 0 })
    }

    /// So many bytes have come.
    pub fn bytes(&self) -> u64 {
        self.bytes
    }

    /// Where it is being written, for whoever has to look into it before it is kept.
    pub fn aside(&self) -> &Path {
        &self.aside
    }

    /// Syncs the file and gives it its name; the same bytes are kept once.
    ///
    /// # Errors
    /// The disk is full or cannot be written; nothing is kept.
    pub fn finish(self) -> anyhow::Result<Kept> {
        self.file.sync_all()?;
        let kept = Kept { name: hex(&self.digest.clone().finalize()), bytes: self.bytes };
        let path = path(&self.data, &kept.name);
        let folder = path.parent().context("a file lies in a folder")?;
        if !path.exists() {
            fs::create_dir_all(folder).with_context(|| format!("{} cannot be made", folder.display()))?;
            fs::rename(&self.aside, &path)?;
        }
        // Of a file that was there already too: whoever gave it its name may not have come so far.
        for folder in [folder, &self.data.join(FOLDER), &self.data] {
            File::open(folder)?.sync_all()?;
        }
        Ok(kept)
    }
}

impl Write for Incoming {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let written = self.file.write(bytes)?;
        self.digest.update(bytes.get(..written).unwrap_or_default());
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Drop for Incoming {
    fn drop(&mut self) {
        // Renamed by now, or unwanted.
        let _ = fs::remove_file(&self.aside);
    }
}

/// Takes away what a stop in the middle has left half written: nobody was told that it was kept.
///
/// # Errors
/// The folder is there and cannot be read or emptied.
pub fn clear_incoming(data: &Path) -> anyhow::Result<()> {
    let folder = data.join(FOLDER).join(INCOMING);
    match fs::remove_dir_all(&folder) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            Err(error).with_context(|| format!("{} cannot be emptied", folder.display()))
        }
        _ => Ok(()),
    }
}

/// Keeps bytes that are at hand as a whole.
///
/// # Errors
/// The disk is full or cannot be written; nothing is kept.
pub async fn keep(data: &Path, bytes: Vec<u8>) -> anyhow::Result<Kept> {
    let data = data.to_owned();
    tokio::task::spawn_blocking(move || {
        let mut incoming = Incoming::begin(&data)?;
        incoming.write_all(&bytes)?;
        incoming.finish()
    })
    .await?
}

/// # Errors
/// The file is not there or cannot be read.
pub async fn read(data: &Path, name: &str) -> anyhow::Result<Vec<u8>> {
    let path = path(data, name);
    tokio::fs::read(&path).await.with_context(|| format!("{} cannot be read", path.display()))
}
