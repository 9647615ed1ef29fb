//! What can go wrong: the questions of the call (`data/triage.toml`) and the cautions at the point of use
//! (`data/cautions.toml`).

use serde::Deserialize;

use super::{Confidence, Pair, row::rows};

/// How soon a vet is needed, most urgent first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    Now,
    SameDay,
    Days,
    Routine,
}

/// A question that the desk asks; a yes decides the urgency.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RedFlag {
    pub code: String,
    /// In which order the questions are asked, from 1.
    pub seq: u32,
    pub ask: String,
    pub urgency: Urgency,
    /// What to tell the caller.
    pub advice: String,
    pub because: String,
    pub source: String,
    pub confidence: Confidence,
}

/// What every caller of a class is told.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Saying {
    pub code: String,
    pub urgency: Vec<Urgency>,
    pub advice: String,
    pub source: String,
    pub confidence: Confidence,
}

impl Urgency {
    /// The key of scripts and style sheets.
    pub fn key(self) -> &'static str {
        match self {
            Urgency::Now => "now",
            Urgency::SameDay => "same_day",
            Urgency::Days => "days",
            Urgency::Routine => "routine",
        }
    }

    /// How soon, as the desk says it.
    pub fn words(self) -> &'static str {
        match self {
            Urgency::Now => "Emergency: a vet now.",
            Urgency::SameDay => "A vet today.",
            Urgency::Days => "A vet within days.",
            Urgency::Routine => "No hurry.",
        }
    }
}

/// How hard a caution holds, hardest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// Goes on only with a reason, kept with who and when.
    HardStop,
    /// Choose another way.
    Stop,
    Caution,
}

/// Where on the pages a caution stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Where {
    HandsOn,
    Foot,
    Trot,
    Ridden,
    Flexion,
    Blocks,
    Neuro,
    Sedation,
    Imaging,
    /// Where a picture or a sample is ordered.
    Order,
    /// Beside a horse that was injected for a bone scan.
    Scan,
    Assessment,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    pub code: String,
    /// The condition, in the words a person picks it by.
    pub name: String,
    pub severity: Severity,
    /// The sentence at the point of use.
    pub text: String,
    #[serde(rename = "where")]
    pub shown_at: Vec<Where>,
    /// Grades that raise it by themselves.
    #[serde(default)]
    pub grades: Vec<GradeTrigger>,
    /// Findings that raise it by themselves, anywhere or in `regions` only.
    #[serde(default)]
    pub findings: Vec<String>,
    #[serde(default)]
    pub regions: Vec<String>,
    /// Neurological items that raise it when abnormal.
    #[serde(default)]
    pub items: Vec<String>,
    /// Vital signs of an adult that raise it.
    #[serde(default)]
    pub vitals: Vec<VitalTrigger>,
    /// The caller's answers about weight-bearing, and the horse's own warnings, that raise it.
    #[serde(default)]
    pub weight_bearing: Vec<String>,
    #[serde(default)]
    pub temperament: Vec<String>,
    /// Holds for a horse of less than a year.
    #[serde(default)]
    pub foal: bool,
    /// Holds when medicines were given before the visit.
    #[serde(default)]
    pub medicines: bool,
    /// Advice that holds for every horse.
    #[serde(default)]
    pub always: bool,
    pub source: String,
    pub confidence: Confidence,
}

/// A grade that raises a caution: at least this much, or less than that.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GradeTrigger {
    pub scale: String,
    pub at_least: Option<f64>,
    pub below: Option<f64>,
    /// Only as graded at this gait.
    pub gait: Option<String>,
    /// Only as graded for this pair of limbs.
    pub pair: Option<Pair>,
    /// Only when it began in one of these ways, as the caller says.
    #[serde(default)]
    pub onsets: Vec<String>,
}

/// A vital sign that raises a caution: more than that, in the unit of its code.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct VitalTrigger {
    pub code: String,
    pub above: f64,
}

impl GradeTrigger {
    pub fn is_met(&self, scale: &str, grade: f64) -> bool {
        self.scale == scale
            && self.at_least.is_none_or(|least| grade >= least)
            && self.below.is_none_or(|most| grade < most)
    }
}

impl Caution {
    pub fn is_raised_by_grade(&self, scale: &str, grade: f64) -> bool {
        self.grades.iter().any(|trigger| trigger.is_met(scale, grade))
    }

    pub fn is_raised_by_finding(&self, finding: &str, region: &str) -> bool {
        self.findings.iter().any(|code| code == finding)
            && (self.regions.is_empty() || self.regions.iter().any(|code| code == region))
    }
}

rows!(RedFlag, Saying, Caution);
