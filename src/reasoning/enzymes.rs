//! Muscle enzymes before and after an exercise test: how many times CK rose, and when no such number may be given.
//!
//! Activities are in U/L, times in minutes. What a rise means is not said here: its thresholds are references.

use super::refused::{Refused, positive};
use crate::catalogue::catalogue;

/// A microkatal is a micromole a second, a unit a micromole a minute.
const U_PER_MICROKATAL: f64 = 60.0;
const MIN_PER_HOUR: f64 = 60.0;

/// What a laboratory gives activities in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Activity {
    UnitsPerLitre,
    MicrokatalsPerLitre,
}

impl Activity {
    pub const ALL: [Self; 2] = [Self::UnitsPerLitre, Self::MicrokatalsPerLitre];

    /// As it is kept and written.
    pub fn unit(self) -> &'static str {
        match self {
            Self::UnitsPerLitre => "U/L",
            Self::MicrokatalsPerLitre => "µkat/L",
        }
    }

    pub fn of(unit: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|activity| activity.unit() == unit)
    }

    pub fn u_per_l(self, value: f64) -> f64 {
        match self {
            Self::UnitsPerLitre => value,
            Self::MicrokatalsPerLitre => value * U_PER_MICROKATAL,
        }
    }
}

/// One sample of blood with its CK.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn<'a> {
    pub ck_u_per_l: f64,
    /// Since any instant that both samples are counted from.
    pub at_min: f64,
    /// As it is called; empty when nobody said.
    pub laboratory: &'a str,
}

/// Why no rise is given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoRise {
    #[error("the laboratory of {0} is not known")]
    LaboratoryUnknown(&'static str),
    #[error("the samples went to two laboratories, {before} and {after}")]
    Laboratories { before: String, after: String },
    #[error("the sample after was taken before the other")]
    Backwards,
    #[error("the samples are {} apart, not {from_hours} to {to_hours} h", words(*apart_min))]
    Apart { apart_min: f64, from_hours: f64, to_hours: f64 },
    #[error("no delay between the samples is in the catalogue")]
    NoDelay,
    #[error("{0}")]
    Refused(#[from] Refused),
}

/// CK after over CK before, when both are of one laboratory and as far apart as the test asks for; both limits of the
/// delay count.
pub fn ck_fold_rise(before: Drawn<'_>, after: Drawn<'_>) -> Result<f64, NoRise> {
    let pre = positive("ck_before_u_per_l", before.ck_u_per_l)?;
    let post = positive("ck_after_u_per_l", after.ck_u_per_l)?;
    one_laboratory(before.laboratory.trim(), after.laboratory.trim())?;
    in_time(after.at_min - before.at_min)?;
    Ok(positive("ck_fold_rise", post / pre)?)
}

fn one_laboratory(before: &str, after: &str) -> Result<(), NoRise> {
    if before.is_empty() {
        return Err(NoRise::LaboratoryUnknown("the sample before"));
    }
    if after.is_empty() {
        return Err(NoRise::LaboratoryUnknown("the sample after"));
    }
    if before.to_lowercase() == after.to_lowercase() {
        return Ok(());
    }
    Err(NoRise::Laboratories { before: before.to_owned(), after: after.to_owned() })
}

fn in_time(apart_min: f64) -> Result<(), NoRise> {
    if apart_min < 0.0 {
        return Err(NoRise::Backwards);
    }
    let mut rows = catalogue().diagnostics.figures.references_of("ck_test_hours");
    let limits = rows.find_map(|row| Some((row.low?, row.high?)));
    let (from_hours, to_hours) = limits.ok_or(NoRise::NoDelay)?;
    if (from_hours * MIN_PER_HOUR..=to_hours * MIN_PER_HOUR).contains(&apart_min) {
        return Ok(());
    }
    Err(NoRise::Apart { apart_min, from_hours, to_hours })
}

/// "3 h 59 min"
fn words(minutes: f64) -> String {
    format!("{} h {} min", (minutes / MIN_PER_HOUR).floor(), (minutes % MIN_PER_HOUR).floor())
}
