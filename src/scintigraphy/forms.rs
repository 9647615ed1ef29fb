//! The forms of the page as they are sent. One struct for all of them: what a form does not ask for stays empty.

use serde::Deserialize;

use super::{injection::InjectionForm, rate::RateForm, region::RegionForm, scene::Scene, spill::SpillForm};
use crate::{
    record::Scan,
    web::{Check, Errors},
};

pub(super) const LONGEST_LINE: usize = 500;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// The entry that is amended, and why; why it is taken back.
    pub was: String,
    pub why: String,
    pub why_back: String,
    #[serde(flatten)]
    pub injection: InjectionForm,
    #[serde(flatten)]
    pub region: RegionForm,
    #[serde(flatten)]
    pub rate: RateForm,
    #[serde(flatten)]
    pub spill: SpillForm,
}

impl Typed {
    /// The forms before anybody has typed: today and the time of the page.
    pub(super) fn fresh(scene: &Scene) -> Self {
        let (on, at) = (scene.now.day(&scene.zone).to_string(), scene.now.hm(&scene.zone));
        Typed {
            injection: InjectionForm::fresh(&on),
            rate: RateForm::fresh(&on, &at),
            spill: SpillForm::fresh(&on, &at),
            ..Typed::default()
        }
    }

    /// What was sent, over forms that nobody has typed in.
    pub(super) fn over(self, fresh: Self) -> Self {
        fn or<T: Default + PartialEq>(sent: T, fresh: T) -> T {
            if sent == T::default() { fresh } else { sent }
        }
        Typed {
            injection: or(self.injection, fresh.injection),
            region: or(self.region, fresh.region),
            rate: or(self.rate, fresh.rate),
            spill: or(self.spill, fresh.spill),
            ..self
        }
    }

    /// The form of an entry as it stands, to be amended.
    pub(super) fn of(scan: &Scan, scene: &Scene) -> Self {
        let zone = &scene.zone;
        let empty = Typed::default();
        match scan {
            Scan::Injection(one) => Typed { injection: InjectionForm::of(one, zone), ..empty },
            Scan::Region(one) => Typed { region: RegionForm::of(one, zone), ..empty },
            Scan::Rate(one) => Typed { rate: RateForm::of(one, scene), ..empty },
            Scan::Spill(one) => Typed { spill: SpillForm::of(one, zone), ..empty },
            Scan::Release(_) => empty,
        }
    }

    /// A new entry needs no reason; one that takes another's place does.
    pub(super) fn reason(&self, check: &mut Check) -> Option<String> {
        if self.was.is_empty() {
            return None;
        }
        Some(check.needed("why", &self.why, LONGEST_LINE, "Say why; both versions stay in the record."))
    }

    pub(super) fn reason_back(&self) -> Result<String, Errors> {
        let mut check = Check::new();
        let missing = "Say why; it stays in the record as taken back.";
        let reason = check.needed("why_back", &self.why_back, LONGEST_LINE, missing);
        check.done(reason)
    }
}

/// A number that must be there.
pub(super) fn needed(
    check: &mut Check,
    (field, typed): (&str, &str),
    most: f64,
    unit: &str,
    missing: &str,
) -> f64 {
    if typed.trim().is_empty() {
        check.errors.add(field, missing);
    }
    check.number(field, typed, 0.0..=most, unit).unwrap_or_default()
}

/// A line that may be left out.
pub(super) fn maybe(check: &mut Check, field: &str, typed: &str) -> Option<String> {
    Some(check.line(field, typed, LONGEST_LINE)).filter(|line| !line.is_empty())
}

/// One of a short list.
pub(super) fn picked<'a>(
    check: &mut Check,
    (field, typed): (&str, &str),
    list: impl IntoIterator<Item = &'a str>,
    missing: &str,
) -> String {
    if list.into_iter().any(|key| key == typed) {
        return typed.to_owned();
    }
    check.errors.add(field, missing);
    String::new()
}
