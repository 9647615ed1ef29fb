//! What the record says was done to a horse, as far as a rule can be about it: medicines, procedures, blocks, and words.

use jiff::tz::TimeZone;

use super::{Restriction, Subject, store::Told};
use crate::{
    catalogue::{BlockKind, catalogue},
    clock::{At, Day},
    ids::{EntryId, VisitId},
    papers::words::{self, Units},
    record::{Body, Dosed, How, Kind},
};

/// The field of a joint's sheet that says what was done, and the one with the medicine.
const JOINT_DONE: &str = "joint_procedure";
const JOINT_MEDICINE: &str = "joint_medicine";
/// What a rule about every block is called.
const ANY_BLOCK: &str = "diagnostic block";

/// One treatment of the record, or one that is planned.
#[derive(Debug, Clone)]
pub(super) struct Treatment {
    /// None where it is planned.
    pub entry: Option<(EntryId, VisitId)>,
    pub name: String,
    /// As the record has it.
    pub words: String,
    pub began: At,
    /// When the last of it was given, as far as the record says.
    pub end: Option<At>,
    pub things: Vec<Thing>,
}

/// One thing of a treatment that a rule can be about.
#[derive(Debug, Clone)]
pub(super) struct Thing {
    pub name: String,
    what: What,
}

#[derive(Debug, Clone)]
enum What {
    /// Of the formulary; no route where none is known, so that a rule for any route meets it.
    Medicine {
        code: String,
        route: Option<String>,
    },
    /// Everything that it is called.
    Procedure(Vec<String>),
    Words(String),
}

impl Treatment {
    pub(super) fn of(told: &Told, zone: &TimeZone) -> Self {
        let body = &told.body;
        let (began, end) = match (&body.dosed, &body.given) {
            (Some(dosed), _) => (dosed.at, end(dosed, zone)),
            (None, given) => {
                let at = given.as_ref().and_then(|given| given.at).unwrap_or(told.seen_at);
                (at, Some(at))
            }
        };
        let things = things(body);
        let names: Vec<&str> = things.iter().map(|thing| thing.name.as_str()).collect();
        Treatment {
            entry: Some((told.entry, told.visit)),
            name: names.join(", "),
            words: words::sentence(body, Units::default()),
            began,
            end,
            things,
        }
    }

    /// One that is to come: named like a rule, or in other words, and given until the end of a day.
    pub(super) fn planned(name: &str, day: Day, rules: &[Restriction], zone: &TimeZone) -> Self {
        let medicine = rules.iter().find_map(|rule| match &rule.subject {
            Subject::Medicine { code, name: known } if same(known, name) => Some(code.clone()),
            _ => None,
        });
        let what = match medicine {
            Some(code) => What::Medicine { code, route: None },
            None => What::Words(name.to_owned()),
        };
        let end = end_of(day, zone);
        Treatment {
            entry: None,
            name: name.to_owned(),
            words: format!("planned: {name}"),
            began: end,
            end: Some(end),
            things: vec![Thing { name: name.to_owned(), what }],
        }
    }
}

impl Thing {
    pub(super) fn meets(&self, rule: &Restriction) -> bool {
        match (&self.what, &rule.subject) {
            (What::Medicine { code, route }, Subject::Medicine { code: theirs, .. }) => {
                same(code, theirs) && route.as_deref().is_none_or(|route| fits(&rule.route, route))
            }
            (What::Procedure(names), Subject::Procedure(theirs)) => {
                names.iter().any(|name| same(name, theirs))
            }
            (What::Words(text), Subject::Medicine { code, name }) => says(text, name) || says(text, code),
            (What::Words(text), Subject::Procedure(name)) => says(text, name),
            _ => false,
        }
    }
}

fn same(a: &str, b: &str) -> bool {
    a.trim().to_lowercase() == b.trim().to_lowercase()
}

fn says(text: &str, name: &str) -> bool {
    text.to_lowercase().contains(&name.to_lowercase())
}

/// A rule for PO holds for "PO paste" too.
fn fits(rule: &str, route: &str) -> bool {
    let (rule, route) = (rule.to_lowercase(), route.to_lowercase());
    rule.is_empty() || route == rule || route.starts_with(&format!("{rule} "))
}

/// The last minute of a day: the hour was not said.
pub(super) fn end_of(day: Day, zone: &TimeZone) -> At {
    day.plus_days(1).start(zone).plus_minutes(-1)
}

/// A dose by us ends when it was given, a course with its last day. What was handed over without days has no known end.
fn end(dosed: &Dosed, zone: &TimeZone) -> Option<At> {
    let last = |days: u32| end_of(dosed.at.day(zone).plus_days(i64::from(days) - 1), zone);
    match (dosed.how, dosed.days.filter(|days| *days > 0)) {
        (How::Administered, None | Some(1)) => Some(dosed.at),
        (_, Some(days)) => Some(last(days)),
        (How::Dispensed | How::Prescribed, None) => None,
    }
}

fn things(body: &Body) -> Vec<Thing> {
    if let Some(dosed) = &body.dosed {
        let what = What::Medicine { code: dosed.medicine.clone(), route: Some(dosed.route.clone()) };
        return vec![Thing { name: format!("{}, {}", dosed.name, dosed.route), what }];
    }
    if body.kind == Kind::Block {
        return block(body);
    }
    if let Some(done) = body.answers.get(JOINT_DONE) {
        let procedure = Thing { name: done.clone(), what: What::Procedure(vec![done.clone()]) };
        let medicine = body.answers.get(JOINT_MEDICINE);
        return std::iter::once(procedure).chain(medicine.map(|words| in_words(words))).collect();
    }
    vec![in_words(body.text.as_deref().unwrap_or_default())]
}

fn in_words(text: &str) -> Thing {
    Thing { name: text.to_owned(), what: What::Words(text.to_owned()) }
}

/// A block is a procedure, and what is injected is a medicine.
fn block(body: &Body) -> Vec<Thing> {
    let Some(code) = body.code.as_deref() else {
        return vec![in_words(&words::sentence(body, Units::default()))];
    };
    let row = catalogue().block(code);
    let name = row.map_or(code, |row| row.name.as_str());
    let names = vec![ANY_BLOCK.to_owned(), name.to_owned()];
    let procedure = Thing { name: format!("{name} block"), what: What::Procedure(names) };
    let route = row.and_then(|row| match row.kind {
        BlockKind::Nerve => Some("perineural".to_owned()),
        BlockKind::Synovial => Some("IA".to_owned()),
        BlockKind::Region => None,
    });
    let agent = body.given.as_ref().and_then(|given| given.agent.as_deref()).map(|agent| {
        let known = catalogue().formulary.medicines.get(agent);
        let name = known.map_or(agent, |row| row.name.as_str()).to_owned();
        Thing { name, what: What::Medicine { code: agent.to_owned(), route } }
    });
    std::iter::once(procedure).chain(agent).collect()
}

/// The procedures that rules are offered for: those of the sheets, and blocks.
pub(super) fn procedures() -> Vec<&'static str> {
    let known = catalogue();
    let done =
        known.procedures.fields.get(JOINT_DONE).map(|field| field.options.as_slice()).unwrap_or_default();
    let blocks = known.blocks.iter().map(|row| row.name.as_str());
    done.iter().map(String::as_str).chain([ANY_BLOCK]).chain(blocks).collect()
}
