//! What is asked at the moment of prescribing, and what its papers need (`data/care.toml`).

use serde::Deserialize;

use super::{
    CatalogueError, Confidence, Row, Table, check::require, files::Reader, formulary::Group, row::rows,
};

const FILE: &str = "care.toml";

/// The checks and lists of care.
#[derive(Debug, Default)]
pub struct Care {
    pub checks: Table<Check>,
    pub numbers: Table<Number>,
    pub caps: Table<Cap>,
    pub ceilings: Table<Ceiling>,
    pub risks: Vec<Risk>,
    pub jurisdictions: Vec<Jurisdiction>,
    pub papers: Table<Paper>,
    /// How a horse is put down.
    pub methods: Table<Method>,
    pub death_signs: Vec<Sign>,
}

/// How one goes on over a check.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pass {
    Never,
    /// With a veterinarian's reason.
    Vet,
    /// With a reason.
    Reason,
    /// It is only shown.
    Shown,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    pub code: String,
    pub name: String,
    pub pass: Pass,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    pub code: String,
    pub is: f64,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// What counts as the whole of a steroid at one visit.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cap {
    pub code: String,
    pub mg: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// Of a local anaesthetic, mg a kg over all places.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ceiling {
    pub code: String,
    pub warn: f64,
    pub stop: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// Something to know about a horse before a medicine of these groups.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Risk {
    pub code: String,
    pub name: String,
    pub groups: Vec<Group>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Jurisdiction {
    pub code: String,
    pub name: String,
    /// Whose labels count as its own.
    pub labels: Vec<String>,
    /// How long a prescription is good, where that is known.
    pub valid_days: Option<i64>,
    pub valid_controlled_days: Option<i64>,
}

/// What a paper must show.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paper {
    pub code: String,
    pub fields: Vec<String>,
    pub sentences: Vec<String>,
    /// Said where the medicine is off its label.
    pub cascade: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// How a horse is put down, with what is said at the point of use.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    pub code: String,
    pub name: String,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// By what death is made sure of.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sign {
    pub code: String,
    pub name: String,
}

rows!(Check, Number, Cap, Ceiling, Paper, Method);

const NUMBERS: [&str; 5] =
    ["nsaid_washout_h", "local_window_h", "fever_c", "steroid_recent_days", "essential_withdrawal_days"];

impl Care {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            checks: reader.table("check")?,
            numbers: reader.table("number")?,
            caps: reader.table("cap")?,
            ceilings: reader.table("ceiling")?,
            risks: reader.rows("risk")?,
            jurisdictions: reader.rows("jurisdiction")?,
            papers: reader.table("paper")?,
            methods: reader.table("method")?,
            death_signs: reader.rows("death_sign")?,
        };
        reader.end()?;
        for code in NUMBERS {
            require(read.numbers.get(code).is_some(), FILE, code, "is missing")?;
        }
        for row in &read.ceilings {
            require(0.0 < row.warn && row.warn <= row.stop, FILE, row.code(), "warns after it stops")?;
        }
        for row in &read.caps {
            require(row.mg > 0.0, FILE, row.code(), "has no amount")?;
        }
        for paper in ["prescription_other", "label_other"] {
            require(read.papers.get(paper).is_some(), FILE, paper, "is missing")?;
        }
        Ok(read)
    }

    /// A number of the file; the file is refused without those that are asked for.
    pub fn number(&self, code: &str) -> f64 {
        self.numbers.get(code).map_or(0.0, |row| row.is)
    }

    pub fn risk(&self, code: &str) -> Option<&Risk> {
        self.risks.iter().find(|row| row.code == code)
    }

    pub fn jurisdiction(&self, code: &str) -> Option<&Jurisdiction> {
        self.jurisdictions.iter().find(|row| row.code == code)
    }

    /// The paper of a place; that of elsewhere where it has none of its own.
    pub fn paper(&self, kind: &str, jurisdiction: &str) -> Option<&Paper> {
        let own = self.papers.get(&format!("{kind}_{jurisdiction}"));
        own.or_else(|| self.papers.get(&format!("{kind}_other")))
    }
}
