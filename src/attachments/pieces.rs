//! A file that comes in pieces: each is synced under its number before anybody is told that it is here, and the whole
//! is put together from them. They outlive a stop, so they do not lie with what is cleared at start.

use std::{
    fs::{self, File},
    io::{self, Write},
    path::{Path, PathBuf},
};

use anyhow::Context;
use sha2::{Digest, Sha256};

use super::{Incoming, file::FOLDER};
use crate::{ids::SubmissionId, record::hex};

const PIECES: &str = "pieces";

/// Where the pieces of one upload lie.
#[derive(Debug, Clone)]
pub struct Pieces {
    data: PathBuf,
    folder: PathBuf,
}

impl Pieces {
    pub fn of(data: &Path, upload: SubmissionId) -> Self {
        let folder = data.join(FOLDER).join(PIECES).join(upload.to_string());
        Pieces { data: data.to_owned(), folder }
    }

    /// Keeps a piece under its number, over one that was there.
    ///
    /// # Errors
    /// The disk is full or cannot be written; what was there stays.
    pub fn keep(&self, number: i64, bytes: &[u8]) -> anyhow::Result<()> {
        fs::create_dir_all(&self.folder)
            .with_context(|| format!("{} cannot be made", self.folder.display()))?;
        // Two sends of one piece may meet: each writes aside under a name of its own.
        let aside = self.folder.join(format!("{number}.{}", SubmissionId::new()));
        let written = File::create_new(&aside).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()?;
            fs::rename(&aside, self.folder.join(number.to_string()))
        });
        if let Err(error) = written {
            // It is of no use to anybody.
            let _ = fs::remove_file(&aside);
            return Err(error).with_context(|| format!("{} cannot be written", self.folder.display()));
        }
        for folder in [&self.folder, &self.data.join(FOLDER).join(PIECES), &self.data.join(FOLDER)] {
            File::open(folder)?.sync_all()?;
        }
        Ok(())
    }

    /// Puts pieces 0 to `count` together. Gives the whole and the SHA-256 over the SHA-256 of each piece: a browser
    /// can reckon that without holding the file.
    ///
    /// # Errors
    /// A piece is not there or cannot be read, or the disk is full.
    pub fn whole(&self, count: i64) -> anyhow::Result<(Incoming, String)> {
        let mut incoming = Incoming::begin(&self.data)?;
        let mut digest = Sha256::new();
        for number in 0..count {
            let path = self.folder.join(number.to_string());
            let bytes = fs::read(&path).with_context(|| format!("{} cannot be read", path.display()))?;
            digest.update(Sha256::digest(&bytes));
            incoming.write_all(&bytes)?;
        }
        Ok((incoming, hex(&digest.finalize())))
    }

    /// Takes them away.
    ///
    /// # Errors
    /// They are there and cannot be removed.
    pub fn clear(&self) -> io::Result<()> {
        match fs::remove_dir_all(&self.folder) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
            _ => Ok(()),
        }
    }

    /// The uploads of which pieces lie here.
    ///
    /// # Errors
    /// The folder is there and cannot be read.
    pub fn all(data: &Path) -> io::Result<Vec<SubmissionId>> {
        let entries = match fs::read_dir(data.join(FOLDER).join(PIECES)) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            entries => entries?,
        };
        let names = entries.filter_map(|entry| Some(entry.ok()?.file_name().to_string_lossy().into_owned()));
        Ok(names.filter_map(|name| name.parse().ok()).collect())
    }
}
