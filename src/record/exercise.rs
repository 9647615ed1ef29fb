//! What an entry says of a programme for the way back to work: as it was prescribed, what was decided since, and what
//! the yard told.

use serde::{Deserialize, Serialize};

use crate::{clock::Day, reasoning::programme::Step};

/// One thing about a programme. The entry's `text` says why, or what was told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Exercise {
    Start(Prescribed),
    /// A gate, decided by the veterinarian who enters it.
    Gate(Decided),
    /// Slower without a gate, or left as it is; `about` of the entry names what was told.
    Change(Slower),
    /// What the yard told; `held_by` of the entry says who.
    Told(Told),
    End(Ended),
}

impl Exercise {
    /// The entry's `code`.
    pub fn code(&self) -> &'static str {
        match self {
            Exercise::Start(_) => "start",
            Exercise::Gate(_) => "gate",
            Exercise::Change(_) => "change",
            Exercise::Told(_) => "told",
            Exercise::End(_) => "end",
        }
    }
}

/// A programme as it was on the day it was prescribed: what the catalogue says later changes nothing of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prescribed {
    pub name: String,
    pub source: String,
    /// On which ground, and how.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub ground: String,
    pub start: Day,
    pub steps: Vec<Step>,
    /// Whom the yard rings, and the number.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub ring: String,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decided {
    pub on: Day,
    pub passed: bool,
    #[serde(default)]
    pub hold_days: u16,
    #[serde(default)]
    pub back_steps: u16,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slower {
    pub on: Day,
    pub hold_days: u16,
    pub back_steps: u16,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Told {
    pub on: Day,
    /// `all`, `less`, `more` or `none` of the exercise.
    pub done: String,
    /// Codes of the catalogue's signs.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub signs: Vec<String>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ended {
    pub on: Day,
}
