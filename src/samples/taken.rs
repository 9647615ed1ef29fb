//! The form of a sample: what it is of, how and when it was taken, and what it went into.

use super::{
    case::Case,
    typed::{Typed, some},
    when,
};
use crate::{
    catalogue::StudyKind,
    clock::At,
    record::{Body, Kind, Sample},
    web::{Check, Errors},
};

const LONGEST: usize = 200;

/// What is chosen for a sample of the middle, such as the tail head.
pub(super) const NEITHER: &str = "neither";

pub(super) const SIDES: [(&str, &str); 3] = [("L", "left"), ("R", "right"), (NEITHER, "neither")];

pub(super) fn check(typed: &Typed, case: &Case) -> Result<Body, Errors> {
    let mut check = Check::new();
    let item = case.items.iter().find(|item| item.code == typed.item);
    if item.is_none() {
        check.errors.add("item", "Choose which of the samples it is.");
    }
    let text = some(check.line("what", &typed.what, LONGEST));
    let side = SIDES.iter().find(|(key, _)| *key == typed.sample_side).map(|(key, _)| *key);
    if side.is_none() && (case.order.kind == StudyKind::Biopsy || !typed.sample_side.is_empty()) {
        check.errors.add("sample_side", "Choose a side, or neither.");
    }
    let method = check.needed("method", &typed.method, LONGEST, "Say how it was taken.");
    let day = ("taken_on", typed.taken_on.as_str());
    let at = when::instant(&mut check, day, ("taken_at", &typed.taken_at), case.now, &case.zone);
    let into = check.line("into", &typed.into, LONGEST);
    let into_at = read_into(&mut check, typed, case, at);
    if into.is_empty() && !typed.into_at.trim().is_empty() && check.errors.on("into").is_none() {
        check.errors.add("into", "Say what it went into at that time.");
    }
    let held_by = check.needed("taken_by", &typed.taken_by, LONGEST, "Say who took it.");
    let reason = typed.read_why(&mut check, "sample_why", &typed.sample_why);
    check.done(Body {
        code: item.map(|item| item.code.clone()),
        text,
        side: side.filter(|side| *side != NEITHER).map(str::to_owned),
        held_by: Some(held_by),
        order: Some(case.order.id),
        sample: Some(Sample { method: Some(method), at, into: some(into), into_at }),
        reason,
        ..Body::new(Kind::Sample)
    })
}

/// When it went into its fixative or tube: on the day it was taken, where no other is said, and not before.
fn read_into(check: &mut Check, typed: &Typed, case: &Case, taken: Option<At>) -> Option<At> {
    if typed.into_at.trim().is_empty() {
        if !typed.into_on.trim().is_empty() && check.day("into_on", &typed.into_on).is_some() {
            check.errors.add("into_at", "Enter the time too, or empty the day.");
        }
        return None;
    }
    let on = if typed.into_on.trim().is_empty() { &typed.taken_on } else { &typed.into_on };
    let field = if typed.into_on.trim().is_empty() { "taken_on" } else { "into_on" };
    let mut own = Check::new();
    let at = when::instant(&mut own, (field, on), ("into_at", &typed.into_at), case.now, &case.zone);
    for (field, sentence) in own.errors.all() {
        // What is wrong with the day it was taken is said once.
        if field != "taken_on" {
            check.errors.add(field, sentence.as_str());
        }
    }
    if at.zip(taken).is_some_and(|(at, taken)| at < taken) {
        check
            .errors
            .add("into_at", "This is before it was taken. Enter the day too when it was another one.");
    }
    at
}
