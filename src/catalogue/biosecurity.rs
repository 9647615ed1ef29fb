//! What keeps horses safe from one another: what a mark says, what to wear, what to clean, and which diseases may have to
//! be reported (`data/biosecurity.toml`).

use serde::Deserialize;

use super::{CatalogueError, Choice, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "biosecurity.toml";

/// A disease that a mark may name.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disease {
    pub code: String,
    pub name: String,
    /// It stands on the international list: many places want it reported. Which ones, their law says.
    #[serde(default)]
    pub listed: bool,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Disease);

/// Everything about biosecurity.
#[derive(Debug, Default)]
pub struct Biosecurity {
    /// What a mark is, in words.
    pub marks: Table<Choice>,
    pub diseases: Table<Disease>,
    /// What is worn and carried.
    pub kit: Table<Choice>,
    /// What is cleaned before the next yard, in order.
    pub cleaning: Table<Choice>,
}

impl Biosecurity {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            marks: reader.table("mark")?,
            diseases: reader.table("disease")?,
            kit: reader.table("kit")?,
            cleaning: reader.table("cleaning")?,
        };
        reader.end()?;
        for row in &read.marks {
            require(row.text.is_some(), FILE, &row.code, "does not say what follows from it")?;
        }
        Ok(read)
    }
}
