//! The horse in motion: gait conditions, flexion tests, the neurological screen, and the orders of an
//! examination (`data/conditions.toml`, `flexion.toml`, `neuro.toml`, `orders.toml`).

use serde::Deserialize;

use super::{Confidence, Limb, Range, row::rows};

/// A condition under which a horse is watched moving.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Condition {
    pub code: String,
    pub name: String,
    pub gait: String,
    pub surface: String,
    pub purpose: String,
    pub source: String,
    pub confidence: Confidence,
}

/// The pair of limbs a test is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Pair {
    Fore,
    Hind,
}

impl Pair {
    /// The pair that this limb is one of.
    pub fn of(limb: Limb) -> Self {
        if limb.is_fore() { Self::Fore } else { Self::Hind }
    }
}

/// A flexion or other provocation test.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Flexion {
    pub code: String,
    pub name: String,
    pub limbs: Vec<Pair>,
    pub how: String,
    /// Seconds it is held; absent where the test is repeated instead.
    pub hold_s: Option<Range>,
    pub stresses: String,
    pub notes: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

impl Flexion {
    /// Whether the test is done on this limb.
    pub fn suits(&self, limb: Limb) -> bool {
        self.limbs.contains(&if limb.is_fore() { Pair::Fore } else { Pair::Hind })
    }
}

/// Something to know before a result is believed, in a line.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fact {
    pub code: String,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// An item of the neurological screen.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeuroItem {
    pub code: String,
    pub name: String,
    pub method: String,
    pub normal: String,
    /// What an abnormal answer hints at.
    pub abnormal: String,
    /// Part of the short screen.
    pub short: bool,
    /// Left and right are recorded apart.
    pub sided: bool,
    pub caution: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// What a pattern over the whole screen makes one think of.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NeuroPattern {
    pub code: String,
    pub name: String,
    pub reads: String,
    /// Ataxia of fore and of hind, and by how much hind is worse, where the pattern is one of grades.
    pub fore: Option<Range>,
    pub hind: Option<Range>,
    pub hind_worse: Option<Range>,
    pub source: String,
    pub confidence: Confidence,
}

impl NeuroPattern {
    /// Whether these grades of ataxia are of this pattern; one that is not about grades never is.
    pub fn fits(&self, fore: f64, hind: f64) -> bool {
        let all = [(self.fore, fore), (self.hind, hind), (self.hind_worse, hind - fore)];
        let asked = || all.iter().filter_map(|(range, grade)| Some((range.as_ref()?, *grade)));
        asked().next().is_some() && asked().all(|(range, grade)| range.contains(grade))
    }
}

/// The order in which hands travel.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    pub code: String,
    pub name: String,
    pub note: String,
    pub steps: Vec<Step>,
    pub source: String,
    pub confidence: Confidence,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    pub section: StepSection,
    pub direction: Direction,
    pub position: Option<Position>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StepSection {
    Axial,
    Fore,
    Hind,
    Foot,
    /// Hoof testers, always last.
    Testers,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// With `seq`: proximal to distal, head to tail.
    Down,
    /// Against it.
    Up,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Position {
    WeightBearing,
    Lifted,
}

rows!(Condition, Fact, Flexion, NeuroItem, NeuroPattern, Order);
