//! Papers in words of the practice's own (`data/letters.toml`): referral, insurer, owner, consent, purchase.

use serde::Deserialize;

use super::{CatalogueError, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "letters.toml";

/// A kind of letter.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letter {
    pub code: String,
    pub name: String,
    /// Whom it is for.
    pub reader: String,
    /// Codes of jurisdictions where it is usual; empty for everywhere.
    pub jurisdictions: Vec<String>,
    /// Whether it may name earlier visits, with leave.
    pub history: bool,
    /// What to mind while writing it.
    pub text: String,
    /// The words that are proposed, with named fields.
    pub words: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How an answer is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Asks {
    Line,
    Words,
    Day,
    /// From one time of day to another.
    Span,
    Tick,
}

/// What a letter asks besides the record.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    pub code: String,
    /// Code of its letter.
    pub letter: String,
    /// Its name among the fields of the letter.
    pub key: String,
    pub name: String,
    pub kind: Asks,
    #[serde(default)]
    pub needed: bool,
    #[serde(default)]
    pub hint: String,
    /// Filled with a party of this role; empty for none.
    #[serde(default)]
    pub from: String,
    /// Filled with the day so many months after the visit; 0 for none.
    #[serde(default)]
    pub months: u8,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Letter, Asked);

#[derive(Debug, Default)]
pub struct Letters {
    pub letters: Table<Letter>,
    asked: Table<Asked>,
}

impl Letters {
    /// `known` tells whether a jurisdiction is one of the practice's choices.
    pub(super) fn read(text: &str, known: impl Fn(&str) -> bool) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self { letters: reader.table("letter")?, asked: reader.table("asked")? };
        reader.end()?;
        for row in &read.letters {
            let places = row.jurisdictions.iter().all(|code| known(code));
            require(places, FILE, &row.code, "names no jurisdiction")?;
            let leave = read.of(row).any(|asked| asked.key == LEAVE && asked.kind == Asks::Tick);
            require(leave == row.history, FILE, &row.code, "asks for leave, or tells no history")?;
        }
        for row in &read.asked {
            let code = format!("{}_{}", row.letter, row.key);
            require(read.letters.get(&row.letter).is_some(), FILE, &row.code, "names no letter")?;
            require(row.code == code, FILE, &row.code, "is called by its letter and its key")?;
        }
        Ok(read)
    }

    /// What a letter asks, in its order.
    pub fn of<'a>(&'a self, letter: &'a Letter) -> impl Iterator<Item = &'a Asked> {
        self.asked.iter().filter(move |row| row.letter == letter.code)
    }
}

/// The tick without which no earlier visit is named, and who gave that leave.
pub const LEAVE: &str = "leave";
pub const LEAVE_BY: &str = "leave_by";
