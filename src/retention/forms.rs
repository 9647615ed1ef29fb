//! The forms of record keeping, as typed, and what is meant.

use serde::Deserialize;

use super::store::{NewCopy, Setting};
use crate::{
    catalogue::{catalogue, records::CopyRule},
    clock::Day,
    reasoning::keeping::copy_due,
    web::{Check, Errors, shown},
};

const LONGEST: usize = 500;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct SettingForm {
    pub submission: String,
    pub version: String,
    pub years: String,
    pub copy_rule: String,
}

impl SettingForm {
    pub(super) fn of(setting: &Setting) -> Self {
        SettingForm {
            version: setting.version.to_string(),
            years: shown(setting.years),
            copy_rule: setting.copy_rule.clone(),
            ..SettingForm::default()
        }
    }

    pub(super) fn check(&self) -> Result<Setting, Errors> {
        let mut c = Check::new();
        let years = c.number("years", &self.years, 1.0..=100.0, "years");
        if years.is_some_and(|years| years.fract() != 0.0) {
            c.errors.add("years", "Enter whole years.");
        }
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 1 to 100, whole")]
        let years = years.map(|years| years as u16);
        if !self.copy_rule.is_empty() && catalogue().records.copies.get(&self.copy_rule).is_none() {
            c.errors.add("copy_rule", "Choose one of the list.");
        }
        let version = self.version.parse().unwrap_or(-1);
        c.done(Setting { years, copy_rule: self.copy_rule.clone(), version })
    }
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct HoldForm {
    pub submission: String,
    pub reason: String,
    pub lifted_why: String,
}

impl HoldForm {
    pub(super) fn check(&self) -> Result<String, Errors> {
        let mut c = Check::new();
        let reason = c.needed_words("reason", &self.reason, LONGEST, "Write why the record must not go.");
        c.done(reason)
    }

    pub(super) fn check_lift(&self) -> Result<String, Errors> {
        let mut c = Check::new();
        let missing = "Write why it is over, such as who said that it is resolved.";
        let why = c.needed_words("lifted_why", &self.lifted_why, LONGEST, missing);
        c.done(why)
    }
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct CopyForm {
    pub submission: String,
    pub asked_by: String,
    pub how: String,
    pub what: String,
    pub asked_on: String,
    pub given_on: String,
    pub given_how: String,
}

impl CopyForm {
    pub(super) fn fresh(today: Day) -> Self {
        let today = today.to_string();
        CopyForm { asked_on: today.clone(), given_on: today, ..CopyForm::default() }
    }

    /// Due by the rule that holds today, if one was chosen.
    pub(super) fn check(&self, today: Day, rule: Option<&CopyRule>) -> Result<NewCopy, Errors> {
        let mut c = Check::new();
        let asked_by = c.needed("asked_by", &self.asked_by, 200, "Enter who asked.");
        let how = c.needed("how", &self.how, 100, "Enter how, such as by letter.");
        let what = c.line("what", &self.what, LONGEST);
        let asked_on = past(&mut c, "asked_on", &self.asked_on, today);
        let Some(asked_on) = asked_on else { return Err(c.errors) };
        let due_on = rule.map(|rule| copy_due(asked_on, rule.days, rule.business));
        c.done(NewCopy { asked_by, how, what, asked_on, due_on })
    }

    pub(super) fn check_given(&self, asked_on: Day, today: Day) -> Result<(Day, String), Errors> {
        let mut c = Check::new();
        let given_on = past(&mut c, "given_on", &self.given_on, today);
        if given_on.is_some_and(|day| day < asked_on) {
            c.errors.add("given_on", "This is before it was asked for.");
        }
        let how = c.needed("given_how", &self.given_how, 200, "Enter how it was given, and to whom.");
        let Some(given_on) = given_on else { return Err(c.errors) };
        c.done((given_on, how))
    }
}

/// A day up to today.
fn past(c: &mut Check, field: &str, typed: &str, today: Day) -> Option<Day> {
    let day = c.day(field, typed);
    if day.is_none() && c.errors.on(field).is_none() {
        c.errors.add(field, "Enter the day.");
    }
    if day.is_some_and(|day| day > today) {
        c.errors.add(field, "This day is still to come.");
    }
    day
}
