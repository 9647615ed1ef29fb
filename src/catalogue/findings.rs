//! Findings: what can be felt or seen at a place (`data/findings.toml`), and the plain choices that go with
//! them and with the horse and call pages (`data/modifiers.toml`, `horse.toml`, `complaint.toml`).

use serde::Deserialize;

use super::{Confidence, Limb, Where, row::rows};

/// How a finding is answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FindingKind {
    /// A state of the place: nothing found, not examined.
    Status,
    /// A grade on the finding's scale.
    Graded,
    YesNo,
    /// One of the picks of its first attribute.
    Picks,
    Text,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    pub code: String,
    pub name: String,
    pub kind: FindingKind,
    /// Present exactly when `kind` is graded.
    pub scale: Option<String>,
    /// Unit of a measurement that may go with it.
    pub measure_unit: Option<String>,
    #[serde(default)]
    pub attributes: Vec<Attribute>,
    /// Wants attention before the examination goes on.
    #[serde(default)]
    pub red_flag: bool,
    /// How to judge it, in a line.
    pub hint: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// A quality of a finding. Without picks it is free text, or a number when it has a unit.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attribute {
    pub key: String,
    pub label: String,
    pub picks: Vec<String>,
    pub unit: Option<String>,
}

/// One entry of a plain list, with what it leads to where it leads anywhere.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    pub code: String,
    pub name: String,
    /// A warning's sentence at the point of use.
    pub text: Option<String>,
    /// Where that sentence is shown.
    #[serde(default, rename = "where")]
    pub shown_at: Vec<Where>,
    /// Limbs that a complaint points to.
    #[serde(default)]
    pub limbs: Vec<Limb>,
    /// The triage question that this answer says yes to.
    pub red_flag: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Finding, Choice);
