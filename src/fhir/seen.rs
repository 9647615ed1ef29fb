//! What was seen, felt, measured and tested as Observation. Each carries its sentence, so that a reader who knows no code of
//! ours reads what stood on our page.

use serde_json::{Value, json};

use super::terms::{body_site, coded, in_words, own, quantity, reference};
use crate::{
    catalogue::catalogue,
    ids::HorseId,
    papers::words::{Units, sentence},
    record::{Body, Entry, Kind},
};

const CATEGORY: &str = "http://terminology.hl7.org/CodeSystem/observation-category";
const ABSENT: &str = "http://terminology.hl7.org/CodeSystem/data-absent-reason";

/// The category of an entry that is an Observation: code and words of the standard's list. Nothing for the others.
fn category(kind: Kind) -> Option<(&'static str, &'static str)> {
    match kind {
        Kind::Place | Kind::Finding | Kind::Gait | Kind::Flexion | Kind::Neuro | Kind::Reading => {
            Some(("exam", "Exam"))
        }
        Kind::Vital => Some(("vital-signs", "Vital Signs")),
        Kind::Shown | Kind::Measured | Kind::Scan => Some(("imaging", "Imaging")),
        Kind::Enzyme => Some(("laboratory", "Laboratory")),
        _ => None,
    }
}

/// An entry as an Observation, when it is one. What was not signed yet is preliminary.
pub(super) fn observation(entry: &Entry, body: &Body, horse: HorseId, signed: bool) -> Option<Value> {
    let (code, words) = category(body.kind)?;
    let mut resource = json!({
        "resourceType": "Observation",
        "id": entry.id.to_string(),
        "basedOn": body.order.map(|order| json!([reference(order)])),
        "status": if signed { "final" } else { "preliminary" },
        "category": [coded(CATEGORY, code, words)],
        "code": what(body),
        "subject": reference(horse),
        "encounter": reference(entry.visit_id),
        "effectiveDateTime": entry.seen().iso(),
        "performer": [reference(entry.seen_by)],
        "bodySite": body_site(body),
        "note": [{ "text": sentence(body, Units::default()) }],
    });
    let (name, value) = found(body);
    resource[name] = value;
    Some(resource)
}

/// What was looked for.
fn what(body: &Body) -> Value {
    let system = own(&serde_plain(body.kind));
    match body.code.as_deref() {
        Some(code) => coded(&system, code, &name(body.kind, code)),
        None if body.kind == Kind::Place => in_words("examination of the place"),
        None => in_words(&serde_plain(body.kind)),
    }
}

/// The name of a code, or the code.
fn name(kind: Kind, code: &str) -> String {
    let known = match kind {
        Kind::Finding => catalogue().findings.get(code).map(|row| row.name.clone()),
        Kind::Vital => catalogue().vitals.get(code).map(|row| row.name.clone()),
        _ => None,
    };
    known.unwrap_or_else(|| code.replace('_', " "))
}

/// The member that holds what was found, and what it holds.
fn found(body: &Body) -> (&'static str, Value) {
    if let Some(number) = body.number {
        return ("valueQuantity", quantity(number, &unit(body)));
    }
    if let Some(grade) = body.grade {
        let scale = body.scale.as_deref().unwrap_or("grade");
        return (
            "valueQuantity",
            json!({ "value": grade, "unit": scale, "system": own("scale"), "code": scale }),
        );
    }
    match (body.kind, body.present) {
        (Kind::Place, Some(false)) => ("valueCodeableConcept", in_words("no abnormality found")),
        (Kind::Place, _) => ("dataAbsentReason", coded(ABSENT, "not-performed", "Not Performed")),
        (_, Some(present)) => ("valueBoolean", Value::Bool(present)),
        _ => ("valueString", Value::String(sentence(body, Units::default()))),
    }
}

fn unit(body: &Body) -> String {
    match body.kind {
        Kind::Vital => {
            let row = body.code.as_deref().and_then(|code| catalogue().vitals.get(code));
            row.map(|row| row.unit.clone()).unwrap_or_default()
        }
        Kind::Flexion => "s".to_owned(),
        Kind::Enzyme => body.drawn.as_ref().map(|drawn| drawn.unit.clone()).unwrap_or_default(),
        _ => String::new(),
    }
}

/// How the record calls a kind.
fn serde_plain(kind: Kind) -> String {
    match serde_json::to_value(kind) {
        Ok(Value::String(word)) => word,
        _ => String::new(),
    }
}
