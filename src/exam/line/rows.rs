//! What was confirmed, checked: whatever a page sends is believed no more than a tap on a button would be.

use crate::{
    catalogue::{FieldKind, FindingKind, Limb, Place, Row, Scale, catalogue},
    exam::{
        movement::Typed,
        question::{Question, TESTER_FINDING},
        state::place_of,
    },
    record::{Body, Kind},
    web::Errors,
};

/// More entries than one line can make.
const MOST: usize = 400;

/// The entries of one chip.
pub(super) type Confirmed = Vec<Body>;

/// Reads what the form confirms: one list of entries for each chip that was not struck.
pub(super) fn confirmed(typed: &Typed) -> Result<Vec<Confirmed>, Errors> {
    let line = typed.get("line").trim().to_owned();
    let refused = || Errors::one("line", "This cannot be recorded as it was sent. Read the line again.");
    let mut all = Vec::new();
    for (name, value) in &typed.0 {
        if !name.starts_with("row-") || value.is_empty() {
            continue;
        }
        let mut bodies: Vec<Body> = serde_json::from_str(value).map_err(|_| refused())?;
        if bodies.is_empty() || !bodies.iter().all(is_whole) {
            return Err(refused());
        }
        if !line.is_empty() {
            for body in &mut bodies {
                body.line = Some(line.clone());
            }
        }
        all.push(bodies);
    }
    if line.chars().count() > super::LONGEST || all.iter().map(Vec::len).sum::<usize>() > MOST {
        return Err(refused());
    }
    if all.is_empty() {
        return Err(Errors::one("line", "Choose what is to be recorded."));
    }
    Ok(all)
}

/// Whether an entry says something that the exam can record, and nothing besides.
pub(super) fn is_whole(body: &Body) -> bool {
    let foreign = body.reason.is_some()
        || body.held_by.is_some()
        || body.sweep.is_some()
        || body.about.is_some()
        || body.from_horse.is_some()
        || body.to_horse.is_some()
        || body.line.is_some();
    let known = match body.kind {
        Kind::Place => place_of(body).is_some() && body.present == Some(false) && body.code.is_none(),
        Kind::Finding => is_finding(body),
        Kind::Vital => is_vital(body),
        Kind::Gait => is_gait(body),
        Kind::Flexion => is_flexion(body),
        Kind::Block => {
            body.code.as_deref().is_some_and(|code| catalogue().block(code).is_some()) && says(body)
        }
        Kind::Note => says(body),
        _ => false,
    };
    known && !foreign && has_aspect(body)
}

fn says(body: &Body) -> bool {
    body.text.as_deref().is_some_and(|text| !text.trim().is_empty() && text.len() <= 4 * super::LONGEST)
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
    row.possible.contains(number) && body.scale == row.scale && scale.is_none_or(|scale| scale.allows(number))
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
