//! What several medicines come to together: steroids of a visit, local anaesthetics of some hours, anti-inflammatories
//! beside each other.

use super::{Kg, Mg};
use crate::{catalogue::catalogue, clock::At};

/// A part of a sum, by the medicine's code.
#[derive(Clone, Debug, PartialEq)]
pub struct Part<'a> {
    pub medicine: &'a str,
    pub mg: Mg,
}

/// Steroids as shares of what counts as the whole of each: more than 1 is a load. Those without a cap count nothing.
pub fn steroid_load<'a>(parts: impl IntoIterator<Item = Part<'a>>) -> f64 {
    let share = |part: Part<'a>| Some(part.mg.0 / catalogue().care.caps.get(part.medicine)?.mg);
    parts.into_iter().filter_map(share).sum()
}

/// Local anaesthetics as shares of the amount that stops and of the one that warns; 1 and more is reached.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LocalSum {
    pub warn: f64,
    pub stop: f64,
}

pub fn local_sum<'a>(parts: impl IntoIterator<Item = Part<'a>>, weight: Kg) -> LocalSum {
    let mut sum = LocalSum::default();
    for part in parts {
        if let Some(row) = catalogue().care.ceilings.get(part.medicine) {
            sum.warn += part.mg.0 / (row.warn * weight.0);
            sum.stop += part.mg.0 / (row.stop * weight.0);
        }
    }
    sum
}

/// From the first dose to the end of the last one's interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Course {
    pub from: At,
    pub until: At,
}

impl Course {
    /// A course of some days, or one dose; each works for its interval.
    pub fn new(from: At, every_h: Option<f64>, days: Option<u32>) -> Self {
        const DAY_MIN: i64 = 24 * 60;
        const USUAL_H: f64 = 24.0;
        #[expect(clippy::cast_possible_truncation, reason = "an interval of hours is far below 2^53 minutes")]
        let interval = (every_h.unwrap_or(USUAL_H) * 60.0).round() as i64;
        let last = i64::from(days.unwrap_or(1).max(1)) * DAY_MIN;
        Course { from, until: from.plus_minutes(last.max(interval)) }
    }

    /// Whether two courses overlap, or one begins before the wash-out after the other is over.
    pub fn is_near(&self, other: &Course) -> bool {
        #[expect(clippy::cast_possible_truncation, reason = "hours of the catalogue are few")]
        let gap = (catalogue().care.number("nsaid_washout_h") * 60.0).round() as i64;
        self.from < other.until.plus_minutes(gap) && other.from < self.until.plus_minutes(gap)
    }
}
