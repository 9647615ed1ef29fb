//! Whether a horse may leave after a bone scan. The practice's licence says when; only a measurement opens the gate,
//! and nothing passes over it. What is reckoned ahead is information for planning.
//!
//! Hours are counted from the injection; rates are in microsieverts an hour, as read: a background is not taken off,
//! which errs on the safe side.

use super::{
    decay::hours_until,
    refused::{Refused, positive},
};
use crate::catalogue::catalogue;

/// What the licence asks before a horse leaves. A value that is just reached is enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Licence {
    pub min_hours: f64,
    /// At 1 m.
    pub max_usv_h: f64,
}

/// One reading at 1 m from a point of the horse.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    pub point: String,
    pub at_h: f64,
    pub usv_h: f64,
    /// The meter was within its calibration on the day of the reading.
    pub calibrated: bool,
}

/// Which conditions are met; the signature stands outside of what can be reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gate {
    pub hours: bool,
    /// There is a reading, and the last one of every point is within the limit.
    pub rate: bool,
    /// There is a reading, and the meter of each that counts was in calibration.
    pub meter: bool,
}

impl Gate {
    /// `hours` have passed since the injection; `readings` in the order they were entered.
    pub fn of(licence: Licence, hours: f64, readings: &[Reading]) -> Self {
        let last = last_of_each(readings);
        let all = |holds: &dyn Fn(&Reading) -> bool| !last.is_empty() && last.iter().all(|one| holds(one));
        Gate {
            hours: hours >= licence.min_hours,
            rate: all(&|one| one.usv_h <= licence.max_usv_h),
            meter: all(&|one| one.calibrated),
        }
    }

    /// Nothing but the signature is missing.
    pub fn is_open(self) -> bool {
        self.hours && self.rate && self.meter
    }
}

/// The last reading of each point, by its time; of two at one time the one that was entered later. What was read before
/// the injection says nothing.
pub fn last_of_each(readings: &[Reading]) -> Vec<&Reading> {
    let mut last: Vec<&Reading> = Vec::new();
    for one in readings.iter().filter(|one| one.at_h >= 0.0) {
        match last.iter_mut().find(|known| known.point == one.point) {
            Some(known) if one.at_h >= known.at_h => *known = one,
            Some(_) => {}
            None => last.push(one),
        }
    }
    last
}

/// Whether a meter that was calibrated `from` and is due `until` was in calibration on a day; both days count.
pub fn in_calibration<D: PartialOrd>(from: &D, until: &D, on: &D) -> bool {
    from <= on && on <= until
}

/// The earliest hour at which the gate can be expected to open, and what it waits for.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    pub hours: f64,
    /// The point whose rate comes down last; none where the minimum hours are what lasts longest.
    pub point: Option<String>,
}

/// By physical decay of the last reading of each point. A local reading can rise again, so this releases nothing.
pub fn earliest(licence: Licence, readings: &[Reading], half_life_h: f64) -> Result<Expected, Refused> {
    let mut earliest = Expected { hours: licence.min_hours, point: None };
    for one in last_of_each(readings) {
        let hours = one.at_h + hours_until(one.usv_h, licence.max_usv_h, half_life_h)?;
        if hours > earliest.hours {
            earliest = Expected { hours, point: Some(one.point.clone()) };
        }
    }
    Ok(earliest)
}

/// For so many hours soiled bedding is held, then surveyed.
pub fn bedding_hours(half_life_h: f64) -> Result<f64, Refused> {
    Ok(positive("half_life_h", half_life_h)? * catalogue().diagnostics.figures.constant("bedding_half_lives"))
}
