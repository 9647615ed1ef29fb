//! What a record must hold, by jurisdiction (`data/records.toml`).

use serde::Deserialize;

use super::{CatalogueError, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "records.toml";

/// How a content is looked for in what a visit holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Content {
    Client,
    Identity,
    History,
    Examination,
    Temperature,
    Weight,
    Medicines,
    Results,
    Diagnosis,
    Plan,
    FollowUp,
    Consent,
    Contacts,
    Vet,
    BeforeSedation,
}

/// One thing that must be in the record.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Needed {
    pub code: String,
    /// Code of a jurisdiction of `care.toml`.
    pub jurisdiction: String,
    /// Whose text it is, where a jurisdiction has several.
    #[serde(rename = "where")]
    pub place: String,
    pub name: String,
    pub found: Content,
    /// How many hours before, where the text says so.
    pub within_h: Option<u32>,
    pub source: String,
    pub confidence: Confidence,
}

/// How long a record is kept from its latest entry.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Retention {
    pub code: String,
    pub jurisdiction: String,
    pub name: String,
    pub years: u16,
    pub source: String,
    pub confidence: Confidence,
}

/// How soon a copy is given.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CopyRule {
    pub code: String,
    pub jurisdiction: String,
    pub name: String,
    pub days: u16,
    /// Saturdays and Sundays are not counted.
    pub business: bool,
    pub source: String,
    pub confidence: Confidence,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    pub code: String,
    pub is: u16,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Needed, Retention, CopyRule, Number);

const DEFAULT_YEARS: &str = "default_years";

#[derive(Debug, Default)]
pub struct Records {
    pub contents: Table<Needed>,
    pub retention: Table<Retention>,
    pub copies: Table<CopyRule>,
    numbers: Table<Number>,
}

impl Records {
    /// `known` tells whether a jurisdiction is one of the practice's choices.
    pub(super) fn read(text: &str, known: impl Fn(&str) -> bool) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            contents: reader.table("content")?,
            retention: reader.table("retention")?,
            copies: reader.table("copy")?,
            numbers: reader.table("number")?,
        };
        reader.end()?;
        for row in &read.contents {
            require(known(&row.jurisdiction), FILE, &row.code, "names no jurisdiction")?;
            let timed = row.found == Content::BeforeSedation;
            require(timed == row.within_h.is_some(), FILE, &row.code, "has hours, or asks for none")?;
        }
        let places = read.retention.iter().map(|row| (&row.code, &row.jurisdiction));
        for (code, place) in places.chain(read.copies.iter().map(|row| (&row.code, &row.jurisdiction))) {
            require(known(place), FILE, code, "names no jurisdiction")?;
        }
        let years = read.numbers.get(DEFAULT_YEARS).is_some_and(|row| (1..=100).contains(&row.is));
        require(years, FILE, DEFAULT_YEARS, "must be 1 to 100 years")?;
        Ok(read)
    }

    /// Years that a record is kept where the practice has set nothing.
    pub fn default_years(&self) -> u16 {
        self.numbers.get(DEFAULT_YEARS).map_or(0, |row| row.is)
    }
}
