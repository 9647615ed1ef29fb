//! What localising comes to, as `limbledger localise` prints it.

use serde::Serialize;

use super::score::Scored;

/// Every member is always there.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Localised {
    /// Best first.
    pub candidates: Vec<Candidate>,
    /// Parts of the limb that the pain is localised to, distal first; none before a block made it better.
    pub field: Vec<String>,
    pub caveats: Vec<Code>,
    /// Structures that blocks cannot tell apart, a group each.
    pub not_separable: Vec<Vec<String>>,
    /// Best first; empty with a stop that holds for every block.
    pub next: Vec<Next>,
    pub imaging: Vec<Pictures>,
    pub stops: Vec<Code>,
    pub several_sources: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Candidate {
    pub structure: String,
    /// How well it alone explains every answer, 0 to 1.
    pub score: f64,
    pub standing: String,
    /// A sentence for each piece of evidence; what the examination says comes after what the blocks say.
    pub because: Vec<String>,
}

impl From<Scored<'_>> for Candidate {
    fn from(scored: Scored<'_>) -> Self {
        Self {
            structure: scored.structure.code.clone(),
            score: rounded(scored.score),
            standing: scored.standing.to_owned(),
            because: scored.because,
        }
    }
}

/// A caution or a stop: its code, and a sentence.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Code {
    pub code: String,
    pub text: String,
}

impl Code {
    pub(super) fn new(code: &str, text: impl Into<String>) -> Self {
        Self { code: code.to_owned(), text: text.into() }
    }
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Next {
    pub block: String,
    /// Expected information, in bits.
    pub gain: f64,
    pub why: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Pictures {
    pub set: String,
    pub why: String,
}

/// To a thousandth: more would pretend to a precision that the weights do not have.
pub(super) fn rounded(number: f64) -> f64 {
    (number * 1000.0).round() / 1000.0
}
