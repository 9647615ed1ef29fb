//! What a practice says to its clients, brings along and asks leave for (`data/desk.toml`).

use super::{CatalogueError, Choice, Table, check::require, files::Reader};

const FILE: &str = "desk.toml";

/// The lists of the desk.
#[derive(Debug, Default)]
pub struct Desk {
    /// Messages by their occasion, with the words that are proposed as their text.
    pub messages: Table<Choice>,
    /// What a kind of study makes one bring to a yard, in words.
    pub bring: Table<Choice>,
    /// What leave is asked for.
    pub leave: Table<Choice>,
}

impl Desk {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            messages: reader.table("message")?,
            bring: reader.table("bring")?,
            leave: reader.table("leave")?,
        };
        reader.end()?;
        for row in &read.messages {
            require(row.text.is_some(), FILE, &row.code, "has no words")?;
        }
        Ok(read)
    }
}
