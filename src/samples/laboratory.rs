//! A laboratory: as it is kept, as it is typed, and what that means.

use serde::Deserialize;

use crate::{
    catalogue::diagnostics::Weekday,
    ids::LaboratoryId,
    reasoning::enzymes::Activity,
    web::{Check, Errors, shown},
};

const LONGEST: usize = 200;
const LONGEST_STEPS: usize = 4_000;
const HIGHEST_ACTIVITY: f64 = 1_000_000.0;

/// A laboratory that the practice sends samples to.
#[derive(Debug, Clone)]
pub struct Laboratory {
    pub id: LaboratoryId,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub email: String,
    pub result_route: String,
    /// Codes of days, spaces between.
    pub arrive_days: String,
    /// A step a line.
    pub steps: String,
    pub ck_low: Option<f64>,
    pub ck_high: Option<f64>,
    pub ast_low: Option<f64>,
    pub ast_high: Option<f64>,
    /// Of the four ranges.
    pub range_unit: String,
    pub range_source: String,
    pub in_use: bool,
    pub version: i64,
}

impl Laboratory {
    /// The days on which samples may arrive; none while nobody said.
    pub fn days(&self) -> Vec<Weekday> {
        self.arrive_days.split_whitespace().filter_map(Weekday::of).collect()
    }

    pub fn days_words(&self) -> String {
        Weekday::words(&self.days())
    }

    pub fn own_steps(&self) -> Vec<&str> {
        self.steps.lines().map(str::trim).filter(|line| !line.is_empty()).collect()
    }

    /// The range of CK or AST in this unit; nothing where it is kept in another one.
    pub fn range(&self, code: &str, unit: &str) -> (Option<f64>, Option<f64>) {
        match code {
            _ if unit != self.range_unit => (None, None),
            "AST" => (self.ast_low, self.ast_high),
            _ => (self.ck_low, self.ck_high),
        }
    }

    /// Name, address and how it is reached, a line each.
    pub fn lines(&self) -> Vec<&str> {
        let lines = [&self.name, &self.address, &self.phone, &self.email];
        lines.into_iter().map(String::as_str).filter(|line| !line.is_empty()).collect()
    }
}

/// The form as it was sent.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct TypedLaboratory {
    pub submission: String,
    pub version: String,
    pub name: String,
    pub address: String,
    pub phone: String,
    pub email: String,
    pub result_route: String,
    pub arrives: Vec<String>,
    pub steps: String,
    pub ck_low: String,
    pub ck_high: String,
    pub ast_low: String,
    pub ast_high: String,
    pub range_unit: String,
    pub range_source: String,
    pub in_use: String,
}

impl TypedLaboratory {
    /// A new one: in use, and nothing else said.
    pub(super) fn blank() -> Self {
        let range_unit = Activity::UnitsPerLitre.unit().to_owned();
        TypedLaboratory { in_use: "yes".into(), range_unit, ..TypedLaboratory::default() }
    }

    pub(super) fn of(kept: &Laboratory) -> Self {
        let kept = kept.clone();
        TypedLaboratory {
            submission: String::new(),
            version: kept.version.to_string(),
            arrives: kept.days().into_iter().map(|day| day.code().to_owned()).collect(),
            name: kept.name,
            address: kept.address,
            phone: kept.phone,
            email: kept.email,
            result_route: kept.result_route,
            steps: kept.steps,
            ck_low: shown(kept.ck_low),
            ck_high: shown(kept.ck_high),
            ast_low: shown(kept.ast_low),
            ast_high: shown(kept.ast_high),
            range_unit: kept.range_unit,
            range_source: kept.range_source,
            in_use: if kept.in_use { "yes".into() } else { String::new() },
        }
    }

    /// The laboratory that is meant, with this id.
    pub(super) fn check(&self, id: LaboratoryId) -> Result<Laboratory, Errors> {
        let mut check = Check::new();
        let name = check.needed("name", &self.name, LONGEST, "Enter the laboratory's name.");
        let address = check.words("address", &self.address, 500);
        let phone = check.line("phone", &self.phone, 60);
        let email = check.line("email", &self.email, LONGEST);
        let result_route = check.line("result_route", &self.result_route, LONGEST);
        let steps = check.words("steps", &self.steps, LONGEST_STEPS);
        let unit = Activity::of(&self.range_unit);
        if unit.is_none() {
            check.errors.add("range_unit", "Choose the unit of the ranges.");
        }
        let (ck_low, ck_high) = range(&mut check, ["ck_low", "ck_high"], [&self.ck_low, &self.ck_high]);
        let (ast_low, ast_high) = range(&mut check, ["ast_low", "ast_high"], [&self.ast_low, &self.ast_high]);
        let range_source = check.line("range_source", &self.range_source, LONGEST);
        let any = [ck_low, ck_high, ast_low, ast_high].iter().any(Option::is_some);
        if any && range_source.is_empty() && check.errors.on("range_source").is_none() {
            check.errors.add("range_source", "Say where the ranges stand, such as the list of a year.");
        }
        let days = Weekday::ALL.into_iter().filter(|day| self.arrives.iter().any(|code| code == day.code()));
        check.done(Laboratory {
            id,
            name,
            address,
            phone,
            email,
            result_route,
            arrive_days: days.map(Weekday::code).collect::<Vec<_>>().join(" "),
            steps,
            ck_low,
            ck_high,
            ast_low,
            ast_high,
            range_unit: unit.map_or_else(String::new, |unit| unit.unit().to_owned()),
            range_source,
            in_use: self.in_use == "yes",
            version: self.version.parse().unwrap_or(-1),
        })
    }
}

/// A range of which either end may be missing.
pub(super) fn range(check: &mut Check, fields: [&str; 2], typed: [&str; 2]) -> (Option<f64>, Option<f64>) {
    let low = check.number(fields[0], typed[0], 0.0..=HIGHEST_ACTIVITY, "");
    let high = check.number(fields[1], typed[1], 0.0..=HIGHEST_ACTIVITY, "");
    if low.zip(high).is_some_and(|(low, high)| low > high) {
        check.errors.add(fields[1], "The upper limit is below the lower one.");
    }
    (low, high)
}
