//! Muscle enzymes: the form of one value, and what a pair of an exercise test says.

use super::{case::Case, laboratory::range, typed::Typed, when};
use crate::{
    catalogue::{
        catalogue,
        diagnostics::{SampleNote, figures::Reference},
    },
    reasoning::enzymes::{self, Activity, NoRise},
    record::{Body, Drawn, Entry, Kind},
    web::{Check, Errors},
};

const HIGHEST: f64 = 10_000_000.0;

pub(super) const ENZYMES: [&str; 2] = ["CK", "AST"];
pub(super) const WHEN: [(&str, &str); 3] =
    [("rest", "at rest"), ("before", "before an exercise test"), ("after", "after an exercise test")];

pub(super) fn units() -> [(&'static str, &'static str); 2] {
    Activity::ALL.map(|one| (one.unit(), one.unit()))
}

/// Whether this order's blood is measured for muscle enzymes.
pub(super) fn is_asked(case: &Case) -> bool {
    case.items.iter().any(|item| ENZYMES.iter().any(|code| item.code.starts_with(code)))
}

pub(super) fn check(typed: &Typed, case: &Case) -> Result<Body, Errors> {
    let mut check = Check::new();
    let code = ENZYMES.into_iter().find(|code| *code == typed.enzyme);
    if code.is_none() {
        check.errors.add("enzyme", "Choose the enzyme.");
    }
    let number = check.number("amount", &typed.amount, 0.0..=HIGHEST, "");
    if number.is_none() && check.errors.on("amount").is_none() {
        check.errors.add("amount", "Enter the value as the laboratory gives it.");
    }
    let unit = Activity::of(&typed.unit);
    if unit.is_none() {
        check.errors.add("unit", "Choose the unit.");
    }
    let day = ("drawn_on", typed.drawn_on.as_str());
    let at = when::instant(&mut check, day, ("drawn_at", &typed.drawn_at), case.now, &case.zone);
    let when = WHEN.iter().find(|(key, _)| *key == typed.drawn_when).map(|(key, _)| *key);
    if when.is_none() {
        check.errors.add("drawn_when", "Say whether it was drawn at rest, before or after a test.");
    }
    let laboratory =
        check.needed("measured_by", &typed.measured_by, 200, "Say which laboratory measured it.");
    let ends = ["range_low", "range_high"];
    let (mut low, mut high) = range(&mut check, ends, [&typed.range_low, &typed.range_high]);
    let reason = typed.read_why(&mut check, "enzyme_why", &typed.enzyme_why);
    // None of these three is missing where nothing was wrong.
    let (unit, at, when) = match (unit, at, when) {
        (Some(unit), Some(at), Some(when)) => (unit.unit(), at, when),
        _ => return Err(check.errors),
    };
    if low.is_none() && high.is_none() {
        let own = case.named(&laboratory).map(|one| one.range(code.unwrap_or_default(), unit));
        (low, high) = own.unwrap_or_default();
    }
    let (when, unit) = (when.to_owned(), unit.to_owned());
    check.done(Body {
        code: code.map(str::to_owned),
        number,
        order: Some(case.order.id),
        drawn: Some(Drawn { at, when, laboratory, unit, low, high }),
        reason,
        ..Body::new(Kind::Enzyme)
    })
}

/// What the pair of an exercise test says.
#[derive(Debug)]
pub(super) enum Test {
    /// CK after is so many times CK before.
    Rise(f64),
    /// No number is given, and why.
    Not(NoRise),
    /// One of the two is missing: "after".
    Waits(&'static str),
}

/// The newest CK before and the newest after; nothing where neither was drawn for a test.
pub(super) fn test(case: &Case) -> Option<Test> {
    let newest = |when: &str| {
        let cks = case.of(Kind::Enzyme).filter_map(|(_, body)| {
            let drawn = body.drawn.as_ref().filter(|drawn| drawn.when == when)?;
            (body.code.as_deref() == Some("CK")).then_some((body, drawn))
        });
        cks.max_by_key(|(_, drawn)| drawn.at).and_then(|(body, drawn)| measured(body, drawn))
    };
    Some(match (newest("before"), newest("after")) {
        (None, None) => return None,
        (Some(_), None) => Test::Waits("after"),
        (None, Some(_)) => Test::Waits("before"),
        (Some(before), Some(after)) => match enzymes::ck_fold_rise(before, after) {
            Ok(rise) => Test::Rise(rise),
            Err(no) => Test::Not(no),
        },
    })
}

fn measured<'a>(body: &Body, drawn: &'a Drawn) -> Option<enzymes::Drawn<'a>> {
    let activity = Activity::of(&drawn.unit)?;
    Some(enzymes::Drawn {
        ck_u_per_l: activity.u_per_l(body.number?),
        at_min: minutes(drawn),
        laboratory: &drawn.laboratory,
    })
}

/// Minutes since 1970, exact in a float for as long as anybody draws blood.
#[expect(clippy::cast_precision_loss, reason = "minutes of our centuries are far below 2^53")]
fn minutes(drawn: &Drawn) -> f64 {
    (drawn.at.0 / 60_000) as f64
}

/// What CK, AST and a rise are shown beside: references, never a diagnosis.
pub(super) fn references() -> Vec<&'static Reference> {
    let figures = &catalogue().diagnostics.figures;
    let measures = ["ck_u_per_l", "ast_u_per_l", "ck_test_hours", "ck_fold_rise", "ck_after_test_u_per_l"];
    measures.into_iter().flat_map(|measure| figures.references_of(measure)).collect()
}

pub(super) fn notes() -> impl Iterator<Item = &'static SampleNote> {
    catalogue().diagnostics.samples.enzyme_notes.iter()
}

/// A value outside the range of its laboratory, in words; inside it, or without one, nothing.
pub(super) fn beyond(body: &Body) -> &'static str {
    let Some((number, drawn)) = body.number.zip(body.drawn.as_ref()) else { return "" };
    match (drawn.low, drawn.high) {
        (Some(low), _) if number < low => "below its laboratory's range",
        (_, Some(high)) if number > high => "above its laboratory's range",
        _ => "",
    }
}

/// Sorts by when the blood was drawn.
pub(super) fn by_time(case: &Case) -> Vec<(&Entry, &Body)> {
    let mut all: Vec<_> = case.of(Kind::Enzyme).collect();
    all.sort_by_key(|(_, body)| body.drawn.as_ref().map(|drawn| drawn.at));
    all
}
