//! A dose rate as it is typed.

use serde::Deserialize;

use super::{
    forms::{maybe, needed, picked},
    scene::Scene,
    when,
};
use crate::{
    catalogue::catalogue,
    reasoning::decay::usv_per_h_of_mr_per_h,
    record::scan::{Meter, Rate},
    web::{Check, shown},
};

const UNITS: [&str; 2] = ["usv", "mr"];
const DISTANCES: [&str; 2] = ["1m", "surface"];
const MOST: f64 = 100_000.0;

/// Its fields, so that the page knows where something is wrong.
pub(super) const FIELDS: &[&str] =
    &["read_on", "read_at", "meter", "distance", "spot", "rate", "rate_unit", "rate_background", "read_by"];

#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub(super) struct RateForm {
    pub read_on: String,
    pub read_at: String,
    pub meter: String,
    pub distance: String,
    pub spot: String,
    pub rate: String,
    pub rate_unit: String,
    pub rate_background: String,
    pub read_by: String,
}

impl RateForm {
    pub(super) fn fresh(on: &str, at: &str) -> Self {
        RateForm { read_on: on.into(), read_at: at.into(), rate_unit: "usv".into(), ..Self::default() }
    }

    pub(super) fn of(one: &Rate, scene: &Scene) -> Self {
        let meter = scene.meters.iter().find(|meter| meter.serial == one.meter.serial);
        RateForm {
            read_on: one.at.day(&scene.zone).to_string(),
            read_at: one.at.hm(&scene.zone),
            meter: shown(meter.map(|meter| meter.id)),
            distance: if one.at_1_m { "1m".into() } else { "surface".into() },
            spot: one.point.clone(),
            rate: one.usv_h.to_string(),
            rate_unit: "usv".into(),
            rate_background: shown(one.background_usv_h),
            read_by: one.by.clone().unwrap_or_default(),
        }
    }

    pub(super) fn check(&self, check: &mut Check, scene: &Scene) -> Option<Rate> {
        let at = ("read_at", self.read_at.as_str());
        let at = when::past(check, ("read_on", &self.read_on), at, (scene.now, &scene.zone));
        let injected = scene.injection().map(|(_, one)| one.at);
        if at.zip(injected).is_some_and(|(at, injected)| at < injected) {
            check.errors.add("read_at", "This is before the injection.");
        }
        let meter = scene.meters.iter().find(|meter| meter.id.to_string() == self.meter);
        if meter.is_none() {
            check.errors.add("meter", "Choose the meter. The practice's owner enters meters under Practice.");
        }
        let distance = picked(check, ("distance", &self.distance), DISTANCES, "Choose where it was read.");
        let points = catalogue().diagnostics.scintigraphy.points.iter().map(|row| row.code.as_str());
        let point = picked(check, ("spot", &self.spot), points, "Choose the place on the horse.");
        let unit = picked(check, ("rate_unit", &self.rate_unit), UNITS, "Choose the unit.");
        let rate = needed(check, ("rate", &self.rate), MOST, "", "Enter what the meter showed.");
        let background = check.number("rate_background", &self.rate_background, 0.0..=MOST, "");
        let by = maybe(check, "read_by", &self.read_by);
        let meter = meter?;
        Some(Rate {
            at: at?,
            meter: Meter {
                name: meter.name.clone(),
                serial: meter.serial.clone(),
                calibrated_on: meter.calibrated_on,
                calibration_due: meter.calibration_due,
            },
            at_1_m: distance == "1m",
            point,
            usv_h: usv_h(rate, &unit),
            background_usv_h: background.map(|n| usv_h(n, &unit)),
            by,
        })
    }
}

/// In microsieverts an hour, to the millionth: what a conversion adds behind it is no reading.
fn usv_h(rate: f64, unit: &str) -> f64 {
    const PARTS: f64 = 1e6;
    let usv_h = if unit == "mr" { usv_per_h_of_mr_per_h(rate).unwrap_or(rate) } else { rate };
    (usv_h * PARTS).round() / PARTS
}
