//! A set of rules as it is typed, and a rule of it.

use serde::Deserialize;

use super::{Restriction, RuleSet, Subject};
use crate::{
    catalogue::catalogue,
    clock::{At, Day},
    ids::{RestrictionId, RuleSetId},
    reasoning::competition::{Interval, Kind, Rule},
    web::{Check, Errors, shown},
};

const LONGEST: usize = 300;
const LONGEST_NAME: usize = 200;
const MOST_HOURS: f64 = 20_000.0;
const MOST_DAYS: f64 = 1_000.0;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct SetForm {
    pub submission: String,
    pub version: String,
    /// The set whose rules are taken along into a new edition.
    pub from: String,
    pub name: String,
    pub body: String,
    pub jurisdiction: String,
    pub edition: String,
    pub valid_from: String,
    pub valid_to: String,
    pub source: String,
    pub read_on: String,
}

impl SetForm {
    pub(super) fn of(set: &RuleSet) -> Self {
        SetForm {
            version: set.version.to_string(),
            name: set.name.clone(),
            body: set.body.clone(),
            jurisdiction: set.jurisdiction.clone(),
            edition: set.edition.clone(),
            valid_from: set.valid_from.to_string(),
            valid_to: shown(set.valid_to),
            source: set.source.clone(),
            read_on: set.read_on.to_string(),
            ..SetForm::default()
        }
    }

    /// The form of the next edition: whose it is stays, and what has to be read again is asked again.
    pub(super) fn next(set: &RuleSet) -> Self {
        SetForm {
            from: set.id.to_string(),
            name: set.name.clone(),
            body: set.body.clone(),
            jurisdiction: set.jurisdiction.clone(),
            ..SetForm::default()
        }
    }

    pub(super) fn check(&self, id: RuleSetId, today: Day) -> Result<RuleSet, Errors> {
        let mut c = Check::new();
        let name = c.needed("name", &self.name, LONGEST_NAME, "Enter a name, such as medication.");
        let body = c.needed("body", &self.body, LONGEST_NAME, "Enter whose rules they are.");
        let jurisdiction = c.needed("jurisdiction", &self.jurisdiction, 100, "Enter where they hold.");
        let edition =
            c.needed("edition", &self.edition, 100, "Enter the edition, such as 2026 or March 2026.");
        let mut day = |field: &str, typed: &str, missing: &str| {
            let day = c.day(field, typed);
            if day.is_none() && c.errors.on(field).is_none() {
                c.errors.add(field, missing);
            }
            day
        };
        let valid_from = day("valid_from", &self.valid_from, "Enter the first day on which they hold.");
        let read_on = day("read_on", &self.read_on, "Enter the day on which they were read.");
        let valid_to = c.day("valid_to", &self.valid_to);
        if valid_from.zip(valid_to).is_some_and(|(from, to)| to < from) {
            c.errors.add("valid_to", "The last day cannot lie before the first.");
        }
        if read_on.is_some_and(|day| day > today) {
            c.errors.add("read_on", "This day is still to come.");
        }
        let source = c.needed("source", &self.source, LONGEST, "Enter the text in which you read them.");
        let (Some(valid_from), Some(read_on)) = (valid_from, read_on) else { return Err(c.errors) };
        let version = self.version.parse().unwrap_or(-1);
        let (by, at) = (String::new(), At(0));
        c.done(RuleSet {
            id,
            name,
            body,
            jurisdiction,
            edition,
            valid_from,
            valid_to,
            source,
            read_on,
            by,
            at,
            version,
        })
    }
}

/// A rule as it is typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct RestrictionForm {
    pub submission: String,
    pub medicine: String,
    pub procedure: String,
    pub route: String,
    pub kind: String,
    pub hours: String,
    pub clear_days: String,
    pub max_dose: String,
    pub rule_source: String,
}

impl RestrictionForm {
    /// `medicines` by code and name, as they are offered.
    pub(super) fn check(&self, medicines: &[(String, String)]) -> Result<Restriction, Errors> {
        let mut c = Check::new();
        let procedure = c.line("procedure", &self.procedure, LONGEST);
        let medicine = medicines.iter().find(|(code, _)| *code == self.medicine);
        let subject = match (self.medicine.is_empty(), self.procedure.trim().is_empty()) {
            (true, true) => {
                c.errors.add("medicine", "Choose a medicine, or enter a procedure below.");
                None
            }
            (false, false) => {
                c.errors
                    .add("procedure", "A rule is about a medicine or about a procedure: enter two rules.");
                None
            }
            (true, false) => Some(Subject::Procedure(procedure)),
            (false, true) if medicine.is_none() => {
                c.errors.add("medicine", "Choose from the list.");
                None
            }
            (false, true) => {
                medicine.map(|(code, name)| Subject::Medicine { code: code.clone(), name: name.clone() })
            }
        };
        let route = c.line("route", &self.route, 60);
        let kind = match self.kind.as_str() {
            "detection" => Some(Kind::Detection),
            "stand_down" => Some(Kind::StandDown),
            _ => {
                c.errors.add("kind", "Choose what kind of rule it is.");
                None
            }
        };
        let interval = self.interval(&mut c);
        let max_dose = c.line("max_dose", &self.max_dose, LONGEST);
        let source =
            c.needed("rule_source", &self.rule_source, LONGEST, "Enter where it stands, such as a page.");
        let (Some(subject), Some(kind), Some(interval)) = (subject, kind, interval) else {
            return Err(c.errors);
        };
        let rule = Rule { kind, interval };
        c.done(Restriction { id: RestrictionId::new(), subject, route, rule, max_dose, source })
    }

    fn interval(&self, c: &mut Check) -> Option<Interval> {
        let hours = whole(c, "hours", &self.hours, MOST_HOURS);
        let days = whole(c, "clear_days", &self.clear_days, MOST_DAYS);
        match (hours, days) {
            (Some(hours), None) => Some(Interval::Hours(hours)),
            (None, Some(days)) => Some(Interval::ClearDays(days)),
            (Some(_), Some(_)) => {
                c.errors.add("clear_days", "Enter hours or clear days, as the body has it, not both.");
                None
            }
            (None, None) => {
                if c.errors.on("hours").is_none() && c.errors.on("clear_days").is_none() {
                    c.errors.add("hours", "Enter hours, or clear days.");
                }
                None
            }
        }
    }
}

fn whole(c: &mut Check, field: &str, typed: &str, most: f64) -> Option<u32> {
    let number = c.number(field, typed, 0.0..=most, "")?;
    if number.fract() != 0.0 {
        c.errors.add(field, "Enter a whole number.");
        return None;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 20000, whole")]
    Some(number as u32)
}

/// What a rule can be, for a form.
pub(super) fn kinds() -> Vec<(&'static str, &'static str)> {
    catalogue().competition.kinds.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
}

/// Why a rule is struck.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct StrikeForm {
    pub submission: String,
    pub strike_why: String,
}

impl StrikeForm {
    pub(super) fn check(&self) -> Result<String, Errors> {
        let mut c = Check::new();
        let why = c.needed("strike_why", &self.strike_why, LONGEST, "Say why; the rule stays in sight.");
        c.done(why)
    }
}
