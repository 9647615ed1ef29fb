//! Scales (`data/scales.toml`) and vital signs (`data/vitals.toml`): how a number is written and read.

use std::fmt;

use serde::Deserialize;

use super::{Confidence, row::rows};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scale {
    pub code: String,
    pub title: String,
    /// Whose scale it is; stands wherever the scale is explained.
    pub attribution: String,
    /// Half grades may be given.
    pub half: bool,
    pub caution: Option<String>,
    pub grades: Vec<Grade>,
    /// Answers kept as a mark instead of a grade.
    #[serde(default)]
    pub marks: Vec<Mark>,
    pub source: String,
    pub confidence: Confidence,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grade {
    pub value: u8,
    pub word: String,
    pub meaning: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    pub code: String,
    pub word: String,
    pub meaning: String,
}

impl Scale {
    /// Lowest and highest grade.
    pub fn range(&self) -> (u8, u8) {
        let value = |grade: Option<&Grade>| grade.map_or(0, |grade| grade.value);
        (value(self.grades.first()), value(self.grades.last()))
    }

    /// Whether a grade may be given on this scale: within its range, whole or half where halves are used.
    pub fn allows(&self, grade: f64) -> bool {
        let (low, high) = self.range();
        let step = if self.half { grade * 2.0 } else { grade };
        (f64::from(low)..=f64::from(high)).contains(&grade) && step.fract() == 0.0
    }

    /// The row of a whole grade.
    pub fn grade(&self, value: u8) -> Option<&Grade> {
        self.grades.iter().find(|grade| grade.value == value)
    }
}

/// Two ends of a range, both included.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Range {
    pub min: f64,
    pub max: f64,
}

impl Range {
    pub fn contains(self, value: f64) -> bool {
        (self.min..=self.max).contains(&value)
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if (self.max - self.min).abs() < f64::EPSILON {
            write!(f, "{}", self.min)
        } else {
            write!(f, "{}\u{2013}{}", self.min, self.max)
        }
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vital {
    pub code: String,
    pub name: String,
    pub unit: String,
    /// Decimals worth keeping.
    pub decimals: u8,
    pub scale: Option<String>,
    /// Resting adult range, shown beside the field; a reference, never a diagnosis.
    pub reference: Option<Range>,
    /// Outside it the page asks whether it was meant.
    pub plausible: Range,
    /// Outside it the value is refused.
    pub possible: Range,
    pub note: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// What to do with a vital sign as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plausibility {
    Usual,
    /// Unlikely: ask once, then take it.
    Ask,
    Impossible,
}

impl Vital {
    pub fn judge(&self, value: f64) -> Plausibility {
        if !self.possible.contains(value) {
            Plausibility::Impossible
        } else if self.plausible.contains(value) {
            Plausibility::Usual
        } else {
            Plausibility::Ask
        }
    }
}

rows!(Scale, Vital);
