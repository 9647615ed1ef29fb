//! A visit as an Encounter, what was said when it was booked and its problems as Condition, its plan as `CarePlan`.

use serde_json::{Value, json};

use super::{
    facts::{Facts, OfVisit},
    terms::{body_site, coded, in_words, reference},
};
use crate::{
    followups::FollowUp,
    ids::HorseId,
    papers::words::{Units, sentence},
    record::{Body, Entry},
    visits::{Complaint, State, Visit},
};

const ACT: &str = "http://terminology.hl7.org/CodeSystem/v3-ActCode";
const CATEGORY: &str = "http://terminology.hl7.org/CodeSystem/condition-category";
const VERIFICATION: &str = "http://terminology.hl7.org/CodeSystem/condition-ver-status";

pub(super) fn encounter(of: &OfVisit, facts: &Facts) -> Value {
    let visit = &of.visit;
    let class = if visit.place == "clinic" { ("AMB", "ambulatory") } else { ("FLD", "field") };
    let participants: Vec<Value> =
        visit.vet_id.map(|vet| json!({ "individual": reference(vet) })).into_iter().collect();
    json!({
        "resourceType": "Encounter",
        "id": visit.id.to_string(),
        "status": status(visit.state),
        "class": { "system": ACT, "code": class.0, "display": class.1 },
        "priority": visit.urgent.then(|| in_words("urgent")),
        "subject": reference(facts.id),
        "participant": participants,
        "period": { "start": visit.starts_at.iso(), "end": visit.starts_at.plus_minutes(visit.minutes).iso() },
        "reasonCode": of.complaints.iter().map(|one| in_words(&one.words)).collect::<Vec<_>>(),
        "serviceProvider": { "display": facts.practice.name },
    })
}

fn status(state: State) -> &'static str {
    match state {
        State::Booked => "planned",
        State::Arrived => "arrived",
        State::InHand | State::ToSign => "in-progress",
        State::Signed => "finished",
        State::DidNotCome | State::Cancelled => "cancelled",
    }
}

/// What the caller said: nobody has looked yet.
pub(super) fn complaint(one: &Complaint, visit: &Visit, horse: HorseId) -> Value {
    let told: Vec<&str> = [&one.site, &one.since, &one.onset, &one.course, &one.weight_bearing]
        .into_iter()
        .map(String::as_str)
        .filter(|words| !words.is_empty())
        .collect();
    json!({
        "resourceType": "Condition",
        "id": one.id.to_string(),
        "verificationStatus": coded(VERIFICATION, "unconfirmed", "Unconfirmed"),
        "category": [coded(CATEGORY, "encounter-diagnosis", "Encounter Diagnosis")],
        "code": in_words(&one.words),
        "subject": reference(horse),
        "encounter": reference(visit.id),
        "note": if told.is_empty() { Value::Null } else { json!([{ "text": told.join("; ") }]) },
    })
}

/// A problem of the assessment with how certain it is.
pub(super) fn problem(entry: &Entry, body: &Body, horse: HorseId) -> Value {
    let (code, words) = match body.value.as_deref() {
        Some("confirmed") => ("confirmed", "Confirmed"),
        Some("likely") => ("provisional", "Provisional"),
        _ => ("differential", "Differential"),
    };
    json!({
        "resourceType": "Condition",
        "id": entry.id.to_string(),
        "verificationStatus": coded(VERIFICATION, code, words),
        "category": [coded(CATEGORY, "encounter-diagnosis", "Encounter Diagnosis")],
        "code": in_words(&sentence(body, Units::default())),
        "bodySite": [body_site(body)],
        "subject": reference(horse),
        "encounter": reference(entry.visit_id),
        "recordedDate": entry.seen().iso(),
        "recorder": reference(entry.seen_by),
    })
}

/// A line of the plan. Whether it was done, the record does not say.
pub(super) fn plan(entry: &Entry, body: &Body, horse: HorseId) -> Value {
    json!({
        "resourceType": "CarePlan",
        "id": entry.id.to_string(),
        "status": "unknown",
        "intent": "plan",
        "subject": reference(horse),
        "encounter": reference(entry.visit_id),
        "created": entry.seen().iso(),
        "author": reference(entry.seen_by),
        "activity": [{ "detail": { "status": "unknown", "description": sentence(body, Units::default()) } }],
    })
}

/// Something that is due, with its day.
pub(super) fn follow_up(one: &FollowUp, horse: HorseId) -> Value {
    let status = if one.state == "booked" { "scheduled" } else { "not-started" };
    json!({
        "resourceType": "CarePlan",
        "id": one.id.to_string(),
        "status": "active",
        "intent": "plan",
        "subject": reference(horse),
        "encounter": one.visit_id.map(reference),
        "activity": [{
            "detail": { "status": status, "description": one.what, "scheduledPeriod": { "start": one.due_on.to_string() } },
        }],
    })
}
