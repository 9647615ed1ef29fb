//! The forms about an order's samples as they are sent: one struct for all, what a form does not ask for stays empty.

use serde::Deserialize;

use super::{case::Case, plan::TypedPlan, taken::NEITHER};
use crate::{
    clock::At,
    record::{Body, Kind},
    web::{Check, shown},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub version: String,
    /// The entry that is amended.
    pub was: String,
    /// Why it is amended or taken back: a name for each form, since they stand on one page.
    pub sample_why: String,
    pub parcel_why: String,
    pub enzyme_why: String,
    pub back_why: String,
    // A sample.
    pub item: String,
    pub what: String,
    pub sample_side: String,
    pub method: String,
    pub taken_on: String,
    pub taken_at: String,
    pub into: String,
    pub into_on: String,
    pub into_at: String,
    pub taken_by: String,
    // A parcel.
    pub sent_on: String,
    pub sent_to: String,
    pub courier: String,
    pub received_on: String,
    /// Of the form that only says that it arrived.
    pub arrived_on: String,
    // An enzyme.
    pub enzyme: String,
    pub amount: String,
    pub unit: String,
    pub drawn_on: String,
    pub drawn_at: String,
    pub drawn_when: String,
    pub measured_by: String,
    pub range_low: String,
    pub range_high: String,
    #[serde(flatten)]
    pub plan: TypedPlan,
}

impl crate::diagnostics::sent::Typed for Typed {
    fn submission(&self) -> &str {
        &self.submission
    }
}

impl Typed {
    /// The forms as they open: today, by who is signed in, at the laboratory that was planned.
    pub(super) fn fresh(case: &Case, me: &str) -> Self {
        let today = case.today().to_string();
        let laboratory = case.laboratory().map(|one| one.name.clone()).unwrap_or_default();
        let item = match case.items.as_slice() {
            [only] => only.code.clone(),
            _ => String::new(),
        };
        Typed {
            item,
            taken_on: today.clone(),
            taken_by: me.to_owned(),
            sent_on: today.clone(),
            sent_to: laboratory.clone(),
            drawn_on: today,
            measured_by: laboratory,
            plan: TypedPlan::of(&case.plan),
            ..Typed::default()
        }
    }

    /// What one form sent, with the others as they open.
    pub(super) fn beside(mut self, fresh: Self) -> Self {
        if [&self.item, &self.taken_on, &self.taken_at, &self.taken_by].iter().all(|typed| typed.is_empty()) {
            (self.item, self.taken_on, self.taken_by) = (fresh.item, fresh.taken_on, fresh.taken_by);
        }
        if [&self.sent_on, &self.sent_to, &self.courier].iter().all(|typed| typed.is_empty()) {
            (self.sent_on, self.sent_to) = (fresh.sent_on, fresh.sent_to);
        }
        if [&self.amount, &self.drawn_on, &self.measured_by].iter().all(|typed| typed.is_empty()) {
            (self.drawn_on, self.measured_by) = (fresh.drawn_on, fresh.measured_by);
        }
        if self.plan == TypedPlan::default() {
            self.plan = fresh.plan;
        }
        self
    }

    /// The form of an entry as it stands, to be amended.
    pub(super) fn of(case: &Case, body: &Body) -> Self {
        match body.kind {
            Kind::Sample => Self::of_sample(case, body),
            Kind::Parcel => Self::of_parcel(body),
            _ => Self::of_enzyme(case, body),
        }
    }

    fn of_sample(case: &Case, body: &Body) -> Self {
        let sample = body.sample.clone().unwrap_or_default();
        let day = |at: Option<At>| shown(at.map(|at| at.day(&case.zone)));
        let time = |at: Option<At>| at.map(|at| at.hm(&case.zone)).unwrap_or_default();
        Typed {
            item: body.code.clone().unwrap_or_default(),
            what: body.text.clone().unwrap_or_default(),
            sample_side: body.side.clone().unwrap_or_else(|| NEITHER.to_owned()),
            method: sample.method.unwrap_or_default(),
            taken_on: day(sample.at),
            taken_at: time(sample.at),
            into: sample.into.unwrap_or_default(),
            into_on: day(sample.into_at),
            into_at: time(sample.into_at),
            taken_by: body.held_by.clone().unwrap_or_default(),
            ..Typed::default()
        }
    }

    fn of_parcel(body: &Body) -> Self {
        let parcel = body.parcel.clone().unwrap_or_default();
        Typed {
            sent_on: parcel.sent_on,
            sent_to: parcel.laboratory,
            courier: parcel.courier.unwrap_or_default(),
            received_on: parcel.received_on.unwrap_or_default(),
            ..Typed::default()
        }
    }

    fn of_enzyme(case: &Case, body: &Body) -> Self {
        let typed = Typed {
            enzyme: body.code.clone().unwrap_or_default(),
            amount: shown(body.number),
            ..Typed::default()
        };
        let Some(drawn) = &body.drawn else { return typed };
        Typed {
            unit: drawn.unit.clone(),
            drawn_on: drawn.at.day(&case.zone).to_string(),
            drawn_at: drawn.at.hm(&case.zone),
            drawn_when: drawn.when.clone(),
            measured_by: drawn.laboratory.clone(),
            range_low: shown(drawn.low),
            range_high: shown(drawn.high),
            ..typed
        }
    }

    /// A new entry needs no reason; one that takes another's place does.
    pub(super) fn read_why(&self, check: &mut Check, field: &str, typed: &str) -> Option<String> {
        const MISSING: &str = "Say why; both versions stay in the record.";
        (!self.was.is_empty()).then(|| check.needed(field, typed, 500, MISSING))
    }
}

/// Nothing for an empty line.
pub(super) fn some(line: String) -> Option<String> {
    Some(line).filter(|line| !line.is_empty())
}
