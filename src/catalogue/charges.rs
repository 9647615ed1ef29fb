//! What a visit can be charged for (`data/charges.toml`), and how the record tells it. Prices are the practice's.

use std::{fmt, str::FromStr};

use serde::Deserialize;

use super::{CatalogueError, Confidence, StudyKind, Table, check::require, files::Reader, row::rows};

const FILE: &str = "charges.toml";

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, sqlx::Type)]
#[serde(rename_all = "snake_case")]
#[sqlx(rename_all = "snake_case")]
pub enum Unit {
    Each,
    Ml,
    Km,
    Minutes,
}

impl Unit {
    pub const ALL: [Unit; 4] = [Unit::Each, Unit::Ml, Unit::Km, Unit::Minutes];

    /// The key of forms and files.
    pub fn key(self) -> &'static str {
        match self {
            Unit::Each => "each",
            Unit::Ml => "ml",
            Unit::Km => "km",
            Unit::Minutes => "minutes",
        }
    }

    /// Behind a quantity; nothing where things are counted.
    pub fn behind(self) -> &'static str {
        match self {
            Unit::Each => "",
            Unit::Ml => "ml",
            Unit::Km => "km",
            Unit::Minutes => "min",
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

impl FromStr for Unit {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Unit::ALL.into_iter().find(|unit| unit.key() == text).ok_or(())
    }
}

/// How the record tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    Visit,
    Purchase,
    CallOut,
    Kilometres,
    DriveMinutes,
    OutOfHours,
    Block,
    Flexion,
    Radiograph,
    Ultrasound,
    BoneScan,
    Sample,
    OtherStudy,
    Medicine,
    Joint,
    Farriery,
    Copy,
    ByHand,
}

/// What tells one price of a charge from another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apart {
    Nothing,
    /// What the visit was booked for.
    Kind,
    /// Kilometres, up to.
    Zone,
    Block,
    Study,
    /// A row of the formulary.
    Medicine,
}

impl Found {
    pub fn of_study(kind: StudyKind) -> Self {
        match kind {
            StudyKind::Radiograph => Found::Radiograph,
            StudyKind::Ultrasound => Found::Ultrasound,
            StudyKind::BoneScan => Found::BoneScan,
            StudyKind::Biopsy | StudyKind::Blood | StudyKind::Synovial => Found::Sample,
            StudyKind::Other => Found::OtherStudy,
        }
    }

    pub fn apart(self) -> Apart {
        match self {
            Found::Visit | Found::Purchase => Apart::Kind,
            Found::CallOut => Apart::Zone,
            Found::Block => Apart::Block,
            Found::Radiograph | Found::Ultrasound | Found::BoneScan | Found::Sample | Found::OtherStudy => {
                Apart::Study
            }
            Found::Medicine => Apart::Medicine,
            _ => Apart::Nothing,
        }
    }
}

/// Something that can be charged.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Charge {
    pub code: String,
    pub name: String,
    /// The usual one first.
    pub units: Vec<Unit>,
    pub found: Found,
    /// Proposed only where a price is kept for it.
    #[serde(default)]
    pub priced_only: bool,
    /// How it is told.
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Charge);

#[derive(Debug, Default)]
pub struct Charges {
    rows: Table<Charge>,
}

impl Charges {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self { rows: reader.table("charge")? };
        reader.end()?;
        for row in &read.rows {
            require(!row.units.is_empty(), FILE, &row.code, "has no unit")?;
            let same = read.rows.iter().filter(|other| other.found == row.found).count();
            let alone = row.found == Found::ByHand || same == 1;
            require(alone, FILE, &row.code, "is found as another row is")?;
        }
        Ok(read)
    }

    pub fn get(&self, code: &str) -> Option<&Charge> {
        self.rows.get(code)
    }

    /// The row that is told so.
    pub fn found(&self, found: Found) -> Option<&Charge> {
        self.rows.iter().find(|row| row.found == found)
    }

    pub fn all(&self) -> std::slice::Iter<'_, Charge> {
        self.rows.iter()
    }
}
