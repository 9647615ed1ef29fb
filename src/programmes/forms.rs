//! The forms of a programme's page as they are sent. One struct for all of them: what a form does not ask for stays
//! empty.

use serde::Deserialize;

use crate::{
    catalogue::catalogue,
    clock::Day,
    record::exercise::{Decided, Ended, Exercise, Slower, Told},
    web::{Check, Errors},
};

pub(super) const LONGEST: usize = 500;
const MOST_DAYS: u16 = 365;
const MOST_STEPS: u16 = 20;
/// What was done of the day's exercise: as it is kept, and in words.
pub(super) const DONE: [(&str, &str); 4] =
    [("all", "all of it"), ("less", "less"), ("more", "more"), ("none", "nothing")];
pub(super) const YES_NO: [(&str, &str); 2] = [("yes", "passed"), ("no", "not passed")];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// What the gate's page showed as the next: the number of its step.
    pub gate: String,
    pub gate_on: String,
    pub passed: String,
    pub gate_hold: String,
    pub gate_back: String,
    pub gate_why: String,
    /// The entry that told the signs; empty for a change of one's own accord.
    pub about: String,
    pub slow_on: String,
    pub slow_hold: String,
    pub slow_back: String,
    pub slow_why: String,
    pub told_on: String,
    pub done: String,
    pub signs: Vec<String>,
    pub told_by: String,
    pub told_words: String,
    pub end_on: String,
    pub end_why: String,
    pub why_back: String,
}

impl Typed {
    pub(super) fn fresh(today: Day) -> Self {
        let today = today.to_string();
        Typed {
            gate_on: today.clone(),
            slow_on: today.clone(),
            told_on: today.clone(),
            end_on: today,
            ..Typed::default()
        }
    }

    /// A gate with the reason of its decision; a day ahead and one before the start are refused.
    pub(super) fn gate(&self, within: (Day, Day)) -> Result<(Exercise, String), Errors> {
        let mut check = Check::new();
        let on = day(&mut check, ("gate_on", &self.gate_on), within);
        let passed = check.choice::<Passed>("passed", &self.passed, "Choose passed or not passed.");
        let hold_days = whole(&mut check, ("gate_hold", &self.gate_hold), MOST_DAYS);
        let back_steps = whole(&mut check, ("gate_back", &self.gate_back), MOST_STEPS);
        let passed = passed.is_some_and(|one| one.0);
        let slower = hold_days > 0 || back_steps > 0;
        if passed && slower {
            check.errors.add("gate_hold", "A gate that is passed has no days and no steps back.");
        } else if !passed && !slower && check.errors.is_empty() {
            check.errors.add("gate_hold", "Say how many days longer, or how many steps back.");
        }
        let why = check.needed("gate_why", &self.gate_why, LONGEST, "Say what was seen, and why.");
        check.done((Exercise::Gate(Decided { on, passed, hold_days, back_steps }), why))
    }

    /// Slower, or left as it is, with the reason.
    pub(super) fn slower(&self, within: (Day, Day)) -> Result<(Exercise, String), Errors> {
        let mut check = Check::new();
        let on = day(&mut check, ("slow_on", &self.slow_on), within);
        let hold_days = whole(&mut check, ("slow_hold", &self.slow_hold), MOST_DAYS);
        let back_steps = whole(&mut check, ("slow_back", &self.slow_back), MOST_STEPS);
        if self.about.is_empty() && hold_days == 0 && back_steps == 0 && check.errors.is_empty() {
            check.errors.add("slow_hold", "Say how many days longer, or how many steps back.");
        }
        let why = check.needed("slow_why", &self.slow_why, LONGEST, "Say why; it stays in the record.");
        check.done((Exercise::Change(Slower { on, hold_days, back_steps }), why))
    }

    /// What the yard told, who, and its words.
    pub(super) fn told(&self, within: (Day, Day)) -> Result<(Exercise, String, String), Errors> {
        let mut check = Check::new();
        let on = day(&mut check, ("told_on", &self.told_on), within);
        if !DONE.iter().any(|(key, _)| *key == self.done) {
            check.errors.add("done", "Choose how much of the exercise was done.");
        }
        let asked =
            |code: &String| catalogue().programmes.regress.get(code).is_some_and(|row| !row.ask.is_empty());
        if !self.signs.iter().all(asked) {
            check.errors.add("signs", "Choose from the list.");
        }
        let by = check.needed("told_by", &self.told_by, LONGEST, "Say who told it.");
        let words = check.line("told_words", &self.told_words, LONGEST);
        let told = Told { on, done: self.done.clone(), signs: self.signs.clone() };
        check.done((Exercise::Told(told), by, words))
    }

    pub(super) fn end(&self, within: (Day, Day)) -> Result<(Exercise, String), Errors> {
        let mut check = Check::new();
        let on = day(&mut check, ("end_on", &self.end_on), within);
        let why = check.needed("end_why", &self.end_why, LONGEST, "Say why it ends.");
        check.done((Exercise::End(Ended { on }), why))
    }

    pub(super) fn back(&self) -> Result<String, Errors> {
        let mut check = Check::new();
        let missing = "Say why; it stays in the record as taken back.";
        let why = check.needed("why_back", &self.why_back, LONGEST, missing);
        check.done(why)
    }
}

struct Passed(bool);

impl std::str::FromStr for Passed {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        match text {
            "yes" => Ok(Passed(true)),
            "no" => Ok(Passed(false)),
            _ => Err(()),
        }
    }
}

/// A day from the start to today.
fn day(check: &mut Check, (field, typed): (&str, &str), (start, today): (Day, Day)) -> Day {
    let day = check.day(field, typed);
    match day {
        Some(day) if day > today => check.errors.add(field, "This day has not come yet."),
        Some(day) if day < start => {
            check.errors.add(field, format!("The programme begins on {}.", start.words()));
        }
        None if typed.trim().is_empty() => check.errors.add(field, "Enter the day."),
        _ => {}
    }
    day.unwrap_or(today)
}

/// A whole number, 0 where nothing is typed.
pub(super) fn whole(check: &mut Check, (field, typed): (&str, &str), most: u16) -> u16 {
    let typed = typed.trim();
    if typed.is_empty() {
        return 0;
    }
    match typed.parse::<u16>() {
        Ok(number) if number <= most => number,
        _ => {
            check.errors.add(field, format!("Enter a whole number from 0 to {most}."));
            0
        }
    }
}
