//! The kinds of row behind a nerve-block work-up.

use std::collections::HashMap;

use serde::Deserialize;

use crate::catalogue::{Confidence, Limb, Pair, row::rows};

/// Where pain can sit.
#[derive(Clone, Debug)]
pub struct Structure {
    pub code: String,
    pub name: String,
    /// The part of the limb, in the fore's word and the hind's.
    pub part: (String, String),
    pub limbs: Vec<Pair>,
    /// Felt for after a block, and never a candidate.
    pub is_check_site: bool,
    /// Imaging sets that fit, best first.
    pub imaging: Vec<String>,
    /// The places of the body that it lies at, of fore and hind.
    pub regions: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

impl Structure {
    pub fn suits(&self, limb: Limb) -> bool {
        self.limbs.contains(&Pair::of(limb))
    }

    pub fn part(&self, limb: Limb) -> &str {
        if limb.is_fore() { &self.part.0 } else { &self.part.1 }
    }
}

/// What each block does to one structure, as letters of `weights.toml`.
#[derive(Clone, Debug)]
pub struct MatrixRow {
    /// The structure's.
    pub code: String,
    pub letters: HashMap<String, String>,
    /// Chances of the practice's own in place of a letter's, by block.
    pub own: HashMap<String, f64>,
    pub source: String,
    pub confidence: Confidence,
}

/// When a block is read and how much goes in.
#[derive(Clone, Debug)]
pub struct Clock {
    /// The block's.
    pub code: String,
    /// Minutes after injecting: look first, look again, and from when a yes is no longer local.
    pub assess_min: f64,
    pub again_min: f64,
    pub late_min: f64,
    /// Millilitres at each site.
    pub ml_least: f64,
    pub ml_most: f64,
    pub sites: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// A letter of the matrix.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weight {
    pub code: String,
    /// That the block numbs the structure, 0 to 1.
    pub chance: f64,
    pub says: String,
    pub source: String,
    pub confidence: Confidence,
}

/// What an answer to a block is called, and how it is weighed.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answer {
    pub code: String,
    pub at_least_pct: f64,
    /// The chance of this answer is `slope` x p + `base` for a structure numbed with chance p.
    pub slope: f64,
    pub base: f64,
    pub counts: bool,
    pub source: String,
    pub confidence: Confidence,
}

/// A word for a score, from `at_least` up.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Standing {
    pub code: String,
    pub at_least: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// A single number of the reckoning.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    pub code: String,
    pub is: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// The grade of a scale from which lameness is severe.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Severe {
    /// The scale's.
    pub code: String,
    pub at_least: f64,
    pub source: String,
    pub confidence: Confidence,
}

/// A local anaesthetic.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Agent {
    pub code: String,
    pub name: String,
    /// As it is usually sold for this.
    pub mg_per_ml: f64,
    /// Minutes that it may keep a limb sound.
    pub active_min: f64,
    /// The most that a negative answer is believed.
    pub negative_cap: Option<f64>,
    pub text: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// For which answers an override holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    Better,
    Negative,
}

/// A published result that stands in for a letter, or a caveat about a block.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Override {
    pub code: String,
    /// Every block, where there is none.
    #[serde(default)]
    pub blocks: Vec<String>,
    /// None for a caveat.
    #[serde(default)]
    pub structures: Vec<String>,
    pub chance: Option<f64>,
    pub cap: Option<f64>,
    pub from_min: Option<f64>,
    pub before_min: Option<f64>,
    /// More than this at each site.
    pub over_ml: Option<f64>,
    pub site: Option<String>,
    #[serde(default)]
    pub severe: bool,
    pub answer: Option<When>,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// The place of a block in the order on one pair of limbs.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rung {
    pub code: String,
    pub block: String,
    pub limb: Pair,
    pub step: u8,
    /// The highest step that a counted negative answer allows.
    pub opens: u8,
    /// Skin that the needle goes through.
    pub regions: Vec<String>,
    /// Structures that let it come early when the examination points at them.
    #[serde(default)]
    pub early_for: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Imaging {
    pub code: String,
    pub name: String,
    pub views: String,
    pub optional: Option<String>,
    /// Comes after plain pictures gave no answer.
    pub last: bool,
    pub source: String,
    pub confidence: Confidence,
}

/// Which way a finding speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Effect {
    Supports,
    /// Looked for, and not there.
    Weakens,
}

/// What the examination says of structures.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Support {
    pub code: String,
    #[serde(default)]
    pub findings: Vec<String>,
    #[serde(default)]
    pub flexions: Vec<String>,
    #[serde(default)]
    pub regions: Vec<String>,
    /// Picks of a foot item, as the sites of the testers.
    #[serde(default)]
    pub values: Vec<String>,
    pub structures: Vec<String>,
    pub effect: Effect,
    pub at_least: Option<f64>,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// Structures that some blocks cannot tell apart.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Together {
    pub code: String,
    pub blocks: Vec<String>,
    pub structures: Vec<String>,
    pub from_min: Option<f64>,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How far a caution goes for blocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Holds {
    All,
    /// No needle through that skin.
    Site,
    /// Not this drug.
    Agent,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// The caution's.
    pub code: String,
    pub holds: Holds,
    /// Findings that raise it at the region where they stand.
    #[serde(default)]
    pub findings: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

rows!(
    Structure, MatrixRow, Clock, Weight, Answer, Standing, Number, Severe, Agent, Override, Rung, Imaging,
    Support, Together, Hold
);
