//! What was spilt, and bedding that is held.

use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    forms::{LONGEST_LINE, picked},
    scene::Scene,
    when,
};
use crate::{
    clock::At,
    reasoning::{decay, release::bedding_hours},
    record::scan::Spill,
    web::{Check, shown},
};

const WHAT: [&str; 2] = ["spill", "bedding"];
const MOST: f64 = 100_000.0;
const MS_PER_H: f64 = 3_600_000.0;

/// Its fields, so that the page knows where something is wrong.
pub(super) const FIELDS: &[&str] =
    &["what", "spill_on", "spill_at", "spill_where", "spill_done", "spill_after"];

#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub(super) struct SpillForm {
    pub what: String,
    pub spill_on: String,
    pub spill_at: String,
    pub spill_where: String,
    pub spill_done: String,
    pub spill_after: String,
}

impl SpillForm {
    pub(super) fn fresh(on: &str, at: &str) -> Self {
        SpillForm { spill_on: on.into(), spill_at: at.into(), ..Self::default() }
    }

    pub(super) fn of(one: &Spill, zone: &TimeZone) -> Self {
        SpillForm {
            what: if one.held_until.is_some() { "bedding".into() } else { "spill".into() },
            spill_on: one.at.day(zone).to_string(),
            spill_at: one.at.hm(zone),
            spill_where: one.place.clone(),
            spill_done: one.done.clone(),
            spill_after: shown(one.usv_h_after),
        }
    }

    pub(super) fn check(&self, check: &mut Check, scene: &Scene) -> Option<Spill> {
        let what = picked(check, ("what", &self.what), WHAT, "Choose what it is.");
        let at = ("spill_at", self.spill_at.as_str());
        let at = when::past(check, ("spill_on", &self.spill_on), at, (scene.now, &scene.zone));
        let place = check.needed("spill_where", &self.spill_where, LONGEST_LINE, "Say where.");
        let done = check.needed("spill_done", &self.spill_done, LONGEST_LINE, "Say what was done.");
        let usv_h_after = check.number("spill_after", &self.spill_after, 0.0..=MOST, "µSv/h");
        let at = at?;
        let held_until = (what == "bedding").then(|| held_until(at, scene)).flatten();
        Some(Spill { at, place, done, held_until, usv_h_after })
    }
}

/// Until when bedding that was taken out `from` then on is held.
pub(super) fn held_until(from: At, scene: &Scene) -> Option<At> {
    let half_life_h =
        scene.half_life_h().or(decay::half_life(decay::USUAL_NUCLIDE).map(|row| row.hours).ok())?;
    // Ten half-lives are some 10^8 ms.
    #[expect(clippy::cast_possible_truncation, reason = "far below 2^63")]
    let ms = (bedding_hours(half_life_h).ok()? * MS_PER_H).round() as i64;
    Some(from.plus_millis(ms))
}
