//! What was confirmed, checked: whatever a page sends is believed no more than a tap on a button would be.

use super::{
    LONGEST,
    keep::{NOT_READ, REASON},
};
use crate::{
    catalogue::{FieldKind, FindingKind, Limb, Place, Plausibility, Row, Scale, catalogue},
    exam::{
        form,
        movement::{METHODS, Typed},
        question::{Question, TESTER_FINDING},
        state::place_of,
    },
    ids::EntryId,
    record::{After, Body, Given, Kind},
    web::{Check, Errors},
};

/// More entries than one line can make.
const MOST: usize = 400;

/// What a form confirms.
pub(super) struct Confirmed {
    /// Word for word as it was said.
    pub line: String,
    /// The entries of each chip that was not struck.
    pub rows: Vec<Vec<Body>>,
    /// Why a flexion that is stopped goes on.
    pub reason: String,
    /// The entry that kept the line until it was read.
    pub was: Option<EntryId>,
}

/// The field of one chip.
pub(super) fn name(chip: usize) -> String {
    format!("row-{chip}")
}

/// Reads what the form confirms.
///
/// # Errors
/// On the line, when it is not as a page of ours sends it; on a chip's field, when its question is open.
pub(super) fn confirmed(typed: &Typed) -> Result<Confirmed, Errors> {
    let mut check = Check::new();
    let line = check.line("line", typed.get("line"), LONGEST);
    let was = form::id(&mut check, "line", typed.get("was"));
    let mut rows = Vec::new();
    for (_, value) in typed.0.iter().filter(|(name, value)| name.starts_with("row-") && !value.is_empty()) {
        match whole(value, &line) {
            Some(bodies) => rows.push(bodies),
            None => check.errors.add("line", "This cannot be recorded as it was sent. Read the line again."),
        }
    }
    let shown = typed.get("chips").parse().unwrap_or(0).min(MOST);
    for open in (0..shown).map(name).filter(|open| !typed.0.iter().any(|(name, _)| name == open)) {
        check.errors.add(&open, "Choose an answer, or strike it.");
    }
    if rows.is_empty() && check.errors.is_empty() {
        check.errors.add("line", "Choose what is to be recorded.");
    }
    if rows.iter().map(Vec::len).sum::<usize>() > MOST {
        check.errors.add("line", "This is too much for one line. Say it in several.");
    }
    check.done(Confirmed { line, rows, reason: typed.get(REASON).to_owned(), was })
}

/// The entries of one chip, with the line they came from.
fn whole(value: &str, line: &str) -> Option<Vec<Body>> {
    let mut bodies: Vec<Body> = serde_json::from_str(value).ok()?;
    for body in &mut bodies {
        if !is_whole(body) {
            return None;
        }
        body.line = Some(line.to_owned()).filter(|line| !line.is_empty());
    }
    Some(bodies).filter(|bodies| !bodies.is_empty())
}

/// Whether an entry says something that the exam can record, and nothing besides.
pub(super) fn is_whole(body: &Body) -> bool {
    let foreign = body.reason.is_some()
        || body.held_by.is_some()
        || body.sweep.is_some()
        || body.about.is_some()
        || body.from_horse.is_some()
        || body.to_horse.is_some()
        || body.line.is_some()
        || (body.text.is_some() && body.kind != Kind::Note)
        || (body.given.is_some() && body.kind != Kind::Block)
        || (body.after.is_some() && body.kind != Kind::Reading)
        || (!body.qualities.is_empty() && body.kind != Kind::Vital);
    let known = match body.kind {
        Kind::Place => place_of(body).is_some() && body.present == Some(false) && body.code.is_none(),
        Kind::Finding => is_finding(body),
        Kind::Vital => is_vital(body),
        Kind::Gait => is_gait(body),
        Kind::Flexion => is_flexion(body),
        Kind::Block => is_block(body, body.code.as_deref()) && body.given.as_ref().is_none_or(is_volume),
        Kind::Reading => is_block(body, body.value.as_deref()) && body.after.as_ref().is_some_and(is_answer),
        Kind::Note => says(body) && body.value.as_deref().is_none_or(|value| value == NOT_READ),
        _ => false,
    };
    known && !foreign && has_aspect(body)
}

/// A block that is done on this limb; one of the trunk is on none.
fn is_block(body: &Body, code: Option<&str>) -> bool {
    let Some(block) = code.and_then(|code| catalogue().block(code)) else { return false };
    let plain = body.present.is_none() && body.grade.is_none() && body.number.is_none();
    plain && limb(body).map_or(block.limbs.is_empty(), |limb| block.suits(limb))
}

fn is_volume(given: &Given) -> bool {
    let only = Given { volume_ml: given.volume_ml, ..Given::default() };
    *given == only && given.volume_ml.is_some_and(|ml| (0.1..=100.0).contains(&ml))
}

fn is_answer(after: &After) -> bool {
    let only = After { minutes: after.minutes, improvement_pct: after.improvement_pct, ..After::default() };
    *after == only
        && after.minutes.is_none_or(|minutes| (0.0..=1440.0).contains(&minutes))
        && after.improvement_pct.is_none_or(|pct| (-1000.0..=100.0).contains(&pct))
}

fn says(body: &Body) -> bool {
    let Some(text) = body.text.as_deref() else { return false };
    !text.trim().is_empty() && text.chars().count() <= LONGEST && !text.chars().any(char::is_control)
}

fn has_aspect(body: &Body) -> bool {
    body.aspect
        .as_deref()
        .is_none_or(|aspect| catalogue().modifiers.aspects.iter().any(|row| row.code() == aspect))
}

/// The grade stands on its scale, or there is neither.
fn is_graded(body: &Body, allowed: &[&str]) -> bool {
    match (body.grade, body.scale.as_deref()) {
        (None, None) => true,
        (Some(grade), Some(key)) => {
            allowed.contains(&key) && catalogue().scale(key).is_some_and(|scale: &Scale| scale.allows(grade))
        }
        _ => false,
    }
}

fn limb(body: &Body) -> Option<Limb> {
    body.limb.as_deref()?.parse().ok()
}

fn is_finding(body: &Body) -> bool {
    let Some(place) = place_of(body) else { return false };
    let code = body.code.as_deref().unwrap_or_default();
    let site = body.region.as_deref().and_then(|region| catalogue().tester_site(region));
    let question = match site {
        Some(site) if code == TESTER_FINDING => Question::find(place, &site.code),
        Some(_) => None,
        None if code == TESTER_FINDING => return testers_whole(body, place),
        None => Question::find(place, code),
    };
    let Some(question) = question else { return false };
    let scale: Vec<&str> = question.scale().map(|scale| scale.code.as_str()).into_iter().collect();
    let picked = match question {
        Question::Field(field) => is_field(body, field.kind, |value| field.pick(value).is_some()),
        Question::Finding(finding) => body.value.is_none() && finding.kind != FindingKind::Text,
        Question::Site(_) | Question::Score(_) => body.value.is_none(),
    };
    picked && is_graded(body, &scale) && body.number.is_none_or(|mm| (0.0..=1000.0).contains(&mm))
}

/// Testers closed somewhere on a foot, no site named.
fn testers_whole(body: &Body, place: Place) -> bool {
    let scale = catalogue().finding(TESTER_FINDING).and_then(|finding| finding.scale.as_deref());
    place.region().code == "FT_HT"
        && body.value.is_none()
        && is_graded(body, &scale.into_iter().collect::<Vec<_>>())
}

fn is_field(body: &Body, kind: FieldKind, is_pick: impl Fn(&str) -> bool) -> bool {
    match kind {
        FieldKind::Pick | FieldKind::Picks => body.value.as_deref().is_some_and(is_pick),
        FieldKind::Number => body.number.is_some() && body.value.is_none(),
        FieldKind::YesNo => body.value.is_none() && body.present.is_some(),
        FieldKind::Scale | FieldKind::Date => false,
    }
}

fn is_vital(body: &Body) -> bool {
    let row = body.code.as_deref().and_then(|code| catalogue().vital(code));
    let Some((row, number)) = row.zip(body.number) else { return false };
    let scale = row.scale.as_deref().and_then(|key| catalogue().scale(key));
    let weight = row.code == "weight_kg";
    let counted = row.decimals == 0 && !weight;
    let sure = body.qualities.as_slice() == ["as measured"];
    let method = body.value.as_deref();
    row.possible.contains(number)
        && body.scale == row.scale
        && scale.is_none_or(|scale| scale.allows(number))
        && (!counted || number.fract() == 0.0)
        && sure == (row.judge(number) == Plausibility::Ask)
        && if weight { METHODS.iter().any(|(key, _)| method == Some(key)) } else { method.is_none() }
}

fn is_gait(body: &Body) -> bool {
    let condition = body.code.as_deref().is_some_and(|code| catalogue().condition(code).is_some());
    condition && limb(body).is_some() && body.grade.is_some() && is_graded(body, &["aaep_0_5", "uk_0_10"])
}

fn is_flexion(body: &Body) -> bool {
    let test = body.code.as_deref().and_then(|code| catalogue().flexion(code));
    let suits = test.zip(limb(body)).is_some_and(|(test, limb)| test.suits(limb));
    let held = body.number.is_none_or(|seconds| (1.0..=600.0).contains(&seconds));
    suits && held && body.grade.is_some() && is_graded(body, &["flexion_0_4", "flexion_0_3"])
}
