//! What a backup says of itself.

use anyhow::{Context, ensure};
use serde::{Deserialize, Serialize};

/// It comes last in the file, since it knows the digests of the others.
pub(super) const NAME: &str = "backup.json";
const FORMAT: &str = "limbledger backup";
/// A reader refuses a higher one, and reads every lower one.
const VERSION: u32 = 1;

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Manifest {
    pub format: String,
    pub format_version: u32,
    /// The version of the program that made it.
    pub program: String,
    /// The number of the newest migration of its tables.
    pub schema: i64,
    pub practice: String,
    /// In UTC.
    pub made_at: String,
    /// How often anything had been committed, how many entries the record had, and the chain value of the newest one.
    pub commits: i64,
    pub entries: i64,
    pub head: String,
    pub files: Vec<File>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct File {
    pub name: String,
    pub bytes: u64,
    pub sha256: String,
}

/// What every version of the format says in the same way.
#[derive(Deserialize)]
struct First {
    format: String,
    format_version: u32,
}

impl Manifest {
    /// Of a practice that nothing is known of yet.
    pub(super) fn blank() -> Self {
        Manifest {
            format: FORMAT.into(),
            format_version: VERSION,
            program: env!("CARGO_PKG_VERSION").into(),
            schema: 0,
            practice: String::new(),
            made_at: String::new(),
            commits: 0,
            entries: 0,
            head: String::new(),
            files: Vec::new(),
        }
    }

    /// # Errors
    /// It is not the one of a backup, or of a newer program.
    pub(super) fn read(text: &[u8]) -> anyhow::Result<Self> {
        let first: First = serde_json::from_slice(text).context("backup.json is not the one of a backup")?;
        ensure!(first.format == FORMAT, "backup.json says that this is a {:?}", first.format);
        ensure!(
            first.format_version <= VERSION,
            "the backup has version {} of the format and this program reads up to {VERSION}; use a newer program",
            first.format_version
        );
        serde_json::from_slice(text).context("backup.json cannot be read")
    }

    pub(super) fn file(&self, name: &str) -> Option<&File> {
        self.files.iter().find(|file| file.name == name)
    }
}
