//! The injection: what was typed, and what the page says of it.

use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    forms::{LONGEST_LINE, maybe, needed, picked},
    scene::Scene,
    when,
};
use crate::{
    catalogue::{
        catalogue,
        diagnostics::figures::{HalfLife, Reference},
    },
    papers::scan::{figure, given_mbq, hours},
    reasoning::decay,
    record::scan::Injection,
    web::Check,
};

const UNITS: [&str; 2] = ["MBq", "mCi"];
/// More than any syringe for a horse holds, in either unit.
const MOST: f64 = 100_000.0;
/// A syringe is measured no longer before.
const LONGEST_BEFORE_H: f64 = 12.0;

#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub(super) struct InjectionForm {
    pub nuclide: String,
    pub agent: String,
    /// Of both activities: `MBq` or `mCi`.
    pub unit: String,
    pub full: String,
    pub full_at: String,
    pub left: String,
    pub left_at: String,
    pub inj_on: String,
    pub inj_at: String,
    pub inj_site: String,
    pub inj_by: String,
}

/// The half-lives that a scan may be reckoned with: those of the nuclides that the agents carry.
pub(super) fn half_lives() -> impl Iterator<Item = &'static HalfLife> {
    let all = &catalogue().diagnostics;
    let carried = |row: &&HalfLife| all.scintigraphy.agents.iter().any(|agent| agent.nuclide == row.nuclide);
    all.figures.half_lives.iter().filter(carried)
}

impl InjectionForm {
    pub(super) fn fresh(on: &str) -> Self {
        InjectionForm {
            nuclide: decay::USUAL_NUCLIDE.into(),
            unit: "MBq".into(),
            inj_on: on.into(),
            ..Self::default()
        }
    }

    pub(super) fn of(one: &Injection, zone: &TimeZone) -> Self {
        InjectionForm {
            nuclide: one.nuclide.clone(),
            agent: one.agent.clone(),
            unit: "MBq".into(),
            full: one.full_mbq.to_string(),
            full_at: one.full_at.hm(zone),
            left: one.left_mbq.to_string(),
            left_at: one.left_at.hm(zone),
            inj_on: one.at.day(zone).to_string(),
            inj_at: one.at.hm(zone),
            inj_site: one.site.clone().unwrap_or_default(),
            inj_by: one.by.clone().unwrap_or_default(),
        }
    }

    /// What is meant; `None` with errors in `check`.
    pub(super) fn check(&self, check: &mut Check, scene: &Scene) -> Option<Injection> {
        let nuclide = half_lives().find(|row| row.code == self.nuclide);
        if nuclide.is_none() {
            check.errors.add("nuclide", "Choose one of the list.");
        }
        let agent = check.needed("agent", &self.agent, LONGEST_LINE, "Enter the agent.");
        let unit = picked(check, ("unit", &self.unit), UNITS, "Choose MBq or mCi.");
        let full = needed(check, ("full", &self.full), MOST, &unit, "Enter what the syringe held.");
        if full <= 0.0 && check.errors.on("full").is_none() {
            check.errors.add("full", "Enter more than 0.");
        }
        let missing = "Enter what was left in the syringe; 0 for nothing.";
        let left = needed(check, ("left", &self.left), MOST, &unit, missing);
        let (now, zone) = (scene.now, &scene.zone);
        let at = when::past(check, ("inj_on", &self.inj_on), ("inj_at", &self.inj_at), (now, zone));
        let anchor = at.unwrap_or(now);
        let full_at = when::before(check, "full_at", &self.full_at, anchor, zone);
        if full_at.is_some_and(|then| hours(then, anchor) > LONGEST_BEFORE_H) {
            check.errors.add("full_at", "This is after the injection, or more than 12 hours before it.");
        }
        let left_at = when::after(check, "left_at", &self.left_at, anchor, zone);
        if left_at.is_some_and(|then| hours(anchor, then) > LONGEST_BEFORE_H) {
            check.errors.add("left_at", "This is before the injection, or more than 12 hours after it.");
        }
        let mbq = |n: f64| if unit == "mCi" { decay::mbq_of_mci(n).unwrap_or_default() } else { n };
        let meant = Injection {
            nuclide: self.nuclide.clone(),
            half_life_h: nuclide?.hours,
            agent,
            full_mbq: mbq(full),
            full_at: full_at?,
            left_mbq: mbq(left),
            left_at: left_at?,
            at: at?,
            site: maybe(check, "inj_site", &self.inj_site),
            by: maybe(check, "inj_by", &self.inj_by),
        };
        if check.errors.is_empty() && given_mbq(&meant).is_none() {
            check
                .errors
                .add("left", "This is not less than what the syringe held, both reckoned to the injection.");
        }
        Some(meant)
    }
}

/// What stands under the injection: what the horse was given, and by its weight.
pub(super) struct Given {
    pub mbq: String,
    /// With the weight it was reckoned by; none without a weight.
    pub per_kg: Option<String>,
}

impl Given {
    pub(super) fn of(one: &Injection, scene: &Scene) -> Option<Self> {
        let mbq = given_mbq(one)?;
        let day = one.at.day(&scene.zone);
        // The newest weight up to that day; where all are later, the first of them.
        let weight = scene.weights.iter().find(|w| w.weighed_on <= day).or(scene.weights.last());
        let per_kg = weight.filter(|w| w.kg > 0.0).map(|w| {
            let (per_kg, kg) = (figure(mbq / w.kg, 1), figure(w.kg, 0));
            format!("{per_kg} MBq/kg, by {kg} kg of {}", w.weighed_on.words())
        });
        Some(Given { mbq: format!("{} MBq", figure(mbq, 0)), per_kg })
    }
}

/// Published activities, each with where it is from.
pub(super) fn references() -> Vec<String> {
    let figures = &catalogue().diagnostics.figures;
    let rows = ["scan_activity_mbq_per_kg", "scan_activity_mbq"].into_iter();
    rows.flat_map(|measure| figures.references_of(measure)).map(reference).collect()
}

/// "10 MBq/kg (Tc-99m HDP, 74 horses): activity that was given; Erichsen et al."
pub(super) fn reference(row: &Reference) -> String {
    let number = match (row.value, row.low, row.high) {
        (Some(value), ..) => value.to_string(),
        (_, Some(low), Some(high)) => format!("{low} to {high}"),
        (_, Some(low), None) => format!("from {low}"),
        (_, None, Some(high)) => format!("up to {high}"),
        _ => String::new(),
    };
    let whose = row.population.as_ref().map_or_else(String::new, |whose| format!(" ({whose})"));
    format!("{number} {}{whose}: {}. {}, {}", row.unit, row.text, row.source, row.confidence.words())
}
