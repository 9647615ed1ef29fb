//! How the practice works and shows things, as typed on the set-up and the settings page.

use serde::Deserialize;

use super::{Practice, zones};
use crate::{catalogue::catalogue, web::Check};

const LONGEST_NAME: usize = 200;
pub(super) const WEIGHT_UNITS: [(&str, &str); 2] = [("kg", "kilograms"), ("lb", "pounds")];
pub(super) const HEIGHT_UNITS: [(&str, &str); 2] = [("cm", "centimetres"), ("hands", "hands")];
pub(super) const TEMPERATURE_UNITS: [(&str, &str); 2] = [("c", "°C"), ("f", "°F")];
/// The scales that a lameness grade may be on.
const LAMENESS_SCALES: [&str; 2] = ["aaep_0_5", "uk_0_10"];

#[derive(Deserialize, Default, Clone)]
#[serde(default)]
pub(super) struct SettingsForm {
    pub practice: String,
    pub zone: String,
    pub weight_unit: String,
    pub height_unit: String,
    pub temperature_unit: String,
    pub lameness_scale: String,
    pub exam_order: String,
}

impl SettingsForm {
    /// What the set-up page proposes: this machine's zone and the units of the SI.
    pub(super) fn proposed() -> Self {
        SettingsForm {
            zone: zones::here().1,
            weight_unit: "kg".into(),
            height_unit: "cm".into(),
            temperature_unit: "c".into(),
            lameness_scale: "aaep_0_5".into(),
            exam_order: "top_down_then_up".into(),
            ..Self::default()
        }
    }

    pub(super) fn of(practice: &Practice) -> Self {
        SettingsForm {
            practice: practice.name.clone(),
            zone: practice.zone_name.clone(),
            weight_unit: practice.weight_unit.clone(),
            height_unit: practice.height_unit.clone(),
            temperature_unit: practice.temperature_unit.clone(),
            lameness_scale: practice.lameness_scale.clone(),
            exam_order: practice.exam_order.clone(),
        }
    }

    pub(super) fn check(&self, check: &mut Check) -> Practice {
        let name = check.needed("practice", &self.practice, LONGEST_NAME, "Enter the name of the practice.");
        let zone = zones::find(&self.zone);
        if zone.is_none() {
            check.errors.add("zone", "Choose a time zone of the list, such as Europe/Dublin.");
        }
        let (zone, zone_name) = zone.unwrap_or_else(zones::here);
        Practice {
            name,
            zone,
            zone_name,
            weight_unit: one_of(check, "weight_unit", &self.weight_unit, &WEIGHT_UNITS),
            height_unit: one_of(check, "height_unit", &self.height_unit, &HEIGHT_UNITS),
            temperature_unit: one_of(check, "temperature_unit", &self.temperature_unit, &TEMPERATURE_UNITS),
            lameness_scale: one_of(check, "lameness_scale", &self.lameness_scale, &lameness_scales()),
            exam_order: one_of(check, "exam_order", &self.exam_order, &exam_orders()),
            invented: false,
            version: 1,
        }
    }
}

/// The scales of lameness, by their titles.
pub(super) fn lameness_scales() -> Vec<(&'static str, &'static str)> {
    LAMENESS_SCALES
        .into_iter()
        .filter_map(|code| Some((code, catalogue().scale(code)?.title.as_str())))
        .collect()
}

pub(super) fn exam_orders() -> Vec<(&'static str, &'static str)> {
    catalogue().orders.iter().map(|order| (order.code.as_str(), order.name.as_str())).collect()
}

fn one_of(check: &mut Check, field: &str, picked: &str, options: &[(&str, &str)]) -> String {
    if options.iter().any(|(value, _)| *value == picked) {
        return picked.to_owned();
    }
    check.errors.add(field, "Choose one of these.");
    String::new()
}
