//! What an archive says of itself.

use anyhow::{Context, bail, ensure};
use serde::{Deserialize, Serialize};

use super::{FORMAT, FORMAT_VERSION, words};

/// The file that says what the others are; it comes last, since it knows their digests.
pub(super) const NAME: &str = "manifest.json";

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Manifest {
    pub format: String,
    pub format_version: u32,
    /// The version of the program that made it.
    pub program: String,
    /// The number of the newest migration of its tables.
    pub schema: i64,
    /// `practice`, or `horse` for the record of one.
    pub scope: String,
    pub practice: String,
    pub zone: String,
    /// Of the record of one horse: which.
    pub horse: Option<String>,
    /// From when on what is recorded is in it; none: from the beginning.
    pub since: Option<String>,
    /// Why what was recorded for a former owner is in it.
    pub reason: Option<String>,
    /// In UTC.
    pub made_at: String,
    pub made_by: String,
    pub record: Chain,
    pub files: Vec<File>,
    /// Files of the record that are not in it.
    pub missing: Vec<Missing>,
    pub left_out: Vec<LeftOut>,
}

/// How far the record had grown.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Chain {
    pub entries: i64,
    /// The chain value of the newest entry, in hexadecimal letters; empty where there is none.
    pub head: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct File {
    pub name: String,
    pub bytes: u64,
    /// Of a table: how many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rows: Option<u64>,
    pub sha256: String,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Missing {
    pub sha256: String,
    pub why: String,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct LeftOut {
    pub table: String,
    /// `*` for the whole table.
    pub column: String,
    pub why: String,
}

impl LeftOut {
    pub(super) fn of((table, column, why): (&str, &str, &str)) -> Self {
        LeftOut { table: table.to_owned(), column: column.to_owned(), why: why.to_owned() }
    }

    /// What no archive holds.
    pub(super) fn always() -> Vec<Self> {
        words::left_out().into_iter().map(Self::of).collect()
    }
}

/// What every version of the format says in the same way.
#[derive(Deserialize)]
struct Head {
    format: String,
    format_version: u32,
}

impl Manifest {
    /// # Errors
    /// It is no manifest of ours, or of a newer version than this program knows.
    pub(super) fn read(text: &[u8]) -> anyhow::Result<Self> {
        let head: Head =
            serde_json::from_slice(text).context("manifest.json is not the one of an archive")?;
        ensure!(head.format == FORMAT, "manifest.json says that this is a {}, not a {FORMAT}", head.format);
        if head.format_version > FORMAT_VERSION {
            bail!(
                "the archive has version {} of the format and this program reads up to {FORMAT_VERSION}; use a newer program",
                head.format_version
            );
        }
        serde_json::from_slice(text).context("manifest.json cannot be read")
    }

    pub(super) fn file(&self, name: &str) -> Option<&File> {
        self.files.iter().find(|file| file.name == name)
    }
}
