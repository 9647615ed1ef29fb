//! Programmes for the way back to work (`data/programmes.toml`): their steps, what makes a horse go slower, and what
//! the yard is told.

use serde::Deserialize;

use super::{CatalogueError, Choice, Confidence, Table, check::require, files::Reader, row::rows};

const FILE: &str = "programmes.toml";

/// What has to be seen before a step may begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GateKind {
    Ultrasound,
    Soundness,
}

impl GateKind {
    pub const ALL: [GateKind; 2] = [GateKind::Ultrasound, GateKind::Soundness];

    /// Its code in the data file and in forms.
    pub fn code(self) -> &'static str {
        match self {
            GateKind::Ultrasound => "ultrasound",
            GateKind::Soundness => "soundness",
        }
    }

    pub fn of(code: &str) -> Option<Self> {
        GateKind::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

/// A programme as it is shipped.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Programme {
    pub code: String,
    pub name: String,
    pub unit: String,
    /// On which ground, and how.
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
    pub steps: Vec<ProgrammeStep>,
}

/// So many days of the same exercise. A gate stands before its first day.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProgrammeStep {
    pub days: u16,
    pub walk_min: u16,
    pub trot_min: u16,
    pub canter_min: u16,
    pub words: String,
    pub gates: Vec<GateKind>,
    pub source: String,
    pub confidence: Confidence,
}

/// A sign or a limit that makes a horse go slower, and what is proposed then.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Regress {
    pub code: String,
    pub name: String,
    /// How the yard is asked; empty where only a veterinarian can say.
    pub ask: String,
    pub unit: String,
    pub limit: f64,
    pub back_steps: u16,
    pub hold_days: u16,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Programme, Regress);

/// Everything of the file.
#[derive(Debug, Default)]
pub struct Programmes {
    pub programmes: Table<Programme>,
    pub regress: Table<Regress>,
    /// When the yard rings, in plain words.
    pub danger: Table<Choice>,
    /// What each gate asks.
    pub gates: Table<Choice>,
}

impl Programmes {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            programmes: reader.table("programme")?,
            regress: reader.table("regress")?,
            danger: reader.table("danger")?,
            gates: reader.table("gate")?,
        };
        reader.end()?;
        for row in &read.programmes {
            require(!row.steps.is_empty(), FILE, &row.code, "has no steps")?;
            for step in &row.steps {
                require(step.days > 0, FILE, &row.code, "has a step without days")?;
                require(!step.words.is_empty(), FILE, &row.code, "has a step without words")?;
                require(!step.source.is_empty(), FILE, &row.code, "has a step without a source")?;
            }
        }
        for row in &read.danger {
            require(row.text.is_some(), FILE, &row.code, "has no words")?;
        }
        for kind in GateKind::ALL {
            require(read.gates.get(kind.code()).is_some(), FILE, kind.code(), "is not told of")?;
        }
        Ok(read)
    }
}
