//! A row of the formulary as it is typed, and what is meant.

use serde::Deserialize;

use super::Row;
use crate::{
    catalogue::{
        Confidence, catalogue,
        formulary::{Basis, Dose, Food, Group, Medicine, Per},
    },
    web::{Check, Errors, shown},
};

const LONGEST: usize = 300;

pub(super) const GROUPS: [(&str, &str); 9] = [
    ("nsaid", "anti-inflammatory, not a steroid"),
    ("steroid", "steroid"),
    ("alpha2", "alpha-2 sedative"),
    ("tranquilliser", "tranquilliser"),
    ("opioid", "opioid"),
    ("reversal", "reversal"),
    ("local", "local anaesthetic"),
    ("joint", "for joints"),
    ("other", "another kind"),
];
pub(super) const FOODS: [(&str, &str); 4] = [
    ("prohibited", "never, unless the horse is signed out"),
    ("essential", "essential substance, six months"),
    ("label", "the label excludes horses for food"),
    ("withdrawal", "with the withdrawal time of the label"),
];
pub(super) const BASES: [(&str, &str); 2] =
    [("mg_per_kg", "mg for each kg"), ("mg", "mg, whatever it weighs")];
pub(super) const PERS: [(&str, &str); 2] = [("dose", "of one dose"), ("day", "of a day, all doses together")];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct RowForm {
    pub submission: String,
    pub version: String,
    pub code: String,
    pub medicine: String,
    pub group: String,
    pub food: String,
    pub controlled: String,
    pub route: String,
    pub form: String,
    pub jurisdiction: String,
    pub basis: String,
    pub per: String,
    pub low: String,
    pub high: String,
    pub every_h: String,
    pub max_days: String,
    pub max_mg_per_day: String,
    pub mg_per_ml: String,
    pub label: String,
    pub text: String,
    pub source: String,
    pub reason: String,
}

/// A key of the enums as forms and files write it.
fn key<T: serde::Serialize>(value: T) -> String {
    serde_json::to_value(value).ok().and_then(|v| v.as_str().map(str::to_owned)).unwrap_or_default()
}

fn picked<T: serde::de::DeserializeOwned>(
    check: &mut Check,
    field: &str,
    typed: &str,
    missing: &str,
) -> Option<T> {
    let value = serde_json::from_value(serde_json::Value::String(typed.to_owned())).ok();
    if value.is_none() {
        check.errors.add(field, missing);
    }
    value
}

impl RowForm {
    /// The form of a row as it stands.
    pub(super) fn of(row: &Row, version: i64) -> Self {
        let dose = &row.dose;
        let list = |numbers: &[f64]| numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
        let tick = |on: bool| if on { "yes".to_owned() } else { String::new() };
        RowForm {
            version: version.to_string(),
            code: dose.code.clone(),
            medicine: row.name.clone(),
            group: key(row.group),
            food: key(row.food),
            controlled: tick(row.controlled),
            route: dose.routes.join(", "),
            form: dose.form.clone(),
            jurisdiction: dose.jurisdiction.clone(),
            basis: key(dose.basis),
            per: key(dose.per),
            low: dose.low.to_string(),
            high: dose.high.to_string(),
            every_h: shown(dose.every_h),
            max_days: shown(dose.max_days),
            max_mg_per_day: shown(dose.max_mg_per_day),
            mg_per_ml: list(&dose.mg_per_ml),
            label: tick(dose.label),
            text: dose.text.clone(),
            source: dose.source.clone(),
            ..RowForm::default()
        }
    }

    pub(super) fn fresh() -> Self {
        RowForm { version: "0".into(), basis: "mg_per_kg".into(), per: "dose".into(), ..RowForm::default() }
    }

    /// The row that is meant, under `code`, and why.
    pub(super) fn check(&self, code: &str, before: Option<&Dose>) -> Result<(Row, String), Errors> {
        let mut c = Check::new();
        let name = c.needed("medicine", &self.medicine, LONGEST, "Enter the medicine's generic name.");
        let known = catalogue().formulary.medicines.iter().find(|m| m.name == name || m.code == name);
        let (group, food, controlled) = self.kind(&mut c, known);
        let routes = c.needed("route", &self.route, 100, "Enter the route, such as IV.");
        let form = c.needed("form", &self.form, 100, "Enter the form, such as injection.");
        let jurisdiction =
            c.needed("jurisdiction", &self.jurisdiction, 20, "Enter whose label it is, such as UK.");
        let basis = picked::<Basis>(&mut c, "basis", &self.basis, "Choose what the amount is.");
        let per = picked::<Per>(&mut c, "per", &self.per, "Choose of what.");
        let low = amount(&mut c, "low", &self.low);
        let high = amount(&mut c, "high", &self.high);
        if low.zip(high).is_some_and(|(low, high)| low > high) {
            c.errors.add("high", "This is less than the lower end.");
        }
        let every_h = c.number("every_h", &self.every_h, 0.5..=8760.0, "h");
        let max_days = days(&mut c, "max_days", &self.max_days);
        let max_mg_per_day = c.number("max_mg_per_day", &self.max_mg_per_day, 0.001..=1_000_000.0, "mg");
        let mg_per_ml = strengths(&mut c, &self.mg_per_ml);
        let text = c.words("text", &self.text, 1000);
        let source = c.needed("source", &self.source, LONGEST, "Enter the text that it is from.");
        let reason = c.needed("reason", &self.reason, LONGEST, "Say why; every version is kept.");
        let confidence = Confidence::try_from("M".to_owned()).ok();
        let all = (group.zip(food), basis.zip(per), low.zip(high), confidence);
        let (Some((group, food)), Some((basis, per)), Some((low, high)), Some(confidence)) = all else {
            return Err(c.errors);
        };
        let dose = Dose {
            code: code.to_owned(),
            medicine: known.map_or_else(|| name.clone(), |m| m.code.clone()),
            routes: routes
                .split(',')
                .map(|route| route.trim().to_owned())
                .filter(|route| !route.is_empty())
                .collect(),
            form,
            jurisdiction,
            basis,
            per,
            low,
            high,
            every_h,
            max_days,
            max_mg_per_day,
            min_kg: before.and_then(|dose| dose.min_kg),
            max_kg: before.and_then(|dose| dose.max_kg),
            mg_per_ml,
            label: self.label == "yes",
            text,
            source,
            confidence,
        };
        if c.errors.is_empty() && dose.fault().is_some() {
            c.errors.add("route", "Enter the route, such as IV.");
        }
        c.done((Row { dose, name, group, controlled, food }, reason))
    }

    /// What the checks ask of the medicine; of a listed one that is not the practice's to change.
    fn kind(&self, c: &mut Check, known: Option<&Medicine>) -> (Option<Group>, Option<Food>, bool) {
        let ticked = self.controlled == "yes";
        match known {
            Some(m) => (Some(m.group), Some(m.food), m.controlled || ticked),
            None => (
                picked::<Group>(c, "group", &self.group, "Choose what kind of medicine it is."),
                picked::<Food>(c, "food", &self.food, "Choose what holds for the food chain."),
                ticked,
            ),
        }
    }
}

fn amount(c: &mut Check, field: &str, typed: &str) -> Option<f64> {
    if typed.trim().is_empty() {
        c.errors.add(field, "Enter the amount.");
    }
    c.number(field, typed, 0.0001..=100_000.0, "")
}

/// Whole days.
pub(crate) fn days(c: &mut Check, field: &str, typed: &str) -> Option<u32> {
    let number = c.number(field, typed, 1.0..=366.0, "days")?;
    if number.fract() != 0.0 {
        c.errors.add(field, "Enter whole days.");
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 366, whole")]
    Some(number as u32)
}

fn strengths(c: &mut Check, typed: &str) -> Vec<f64> {
    let mut found = Vec::new();
    for word in typed.split([' ', ';', '/']).filter(|word| !word.is_empty()) {
        match word.replace(',', ".").parse::<f64>() {
            Ok(n) if (0.001..=2000.0).contains(&n) => found.push(n),
            _ => {
                c.errors.add("mg_per_ml", "Enter strengths in mg/ml, such as 50 or 100 200.");
                return Vec::new();
            }
        }
    }
    found
}
