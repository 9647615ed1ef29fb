//! What the words of competition rules mean, and what to be careful about (`data/competition.toml`). The rules themselves
//! are the practice's, for they change.

use serde::Deserialize;

use super::{CatalogueError, Choice, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "competition.toml";
const OLD: &str = "old_after_months";

/// A single whole number with its reason.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    pub code: String,
    pub is: i32,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Number);

#[derive(Debug, Default)]
pub struct Competition {
    /// What a rule can be about: detection or stand-down.
    pub kinds: Table<Choice>,
    /// What to be careful about.
    pub facts: Table<Choice>,
    /// What the owner is told.
    pub owner: Table<Choice>,
    numbers: Table<Number>,
}

impl Competition {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            kinds: reader.table("kind")?,
            facts: reader.table("fact")?,
            owner: reader.table("owner")?,
            numbers: reader.table("number")?,
        };
        reader.end()?;
        for row in read.kinds.iter().chain(read.facts.iter()).chain(read.owner.iter()) {
            require(row.text.is_some(), FILE, &row.code, "has no words")?;
        }
        for code in ["detection", "stand_down"] {
            require(read.kinds.get(code).is_some(), FILE, code, "is missing")?;
        }
        let is_whole = read.numbers.get(OLD).is_some_and(|row| (1..=120).contains(&row.is));
        require(is_whole, FILE, OLD, "must be 1 to 120 months")?;
        Ok(read)
    }

    /// Months after which a set that nobody has read again counts as old.
    pub fn old_after_months(&self) -> i32 {
        self.numbers.get(OLD).map_or(0, |row| row.is)
    }
}
