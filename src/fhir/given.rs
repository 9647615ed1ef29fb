//! What was done to the horse: medicines as `MedicationAdministration`, `MedicationDispense` and `MedicationRequest`; blocks, other
//! treatments and its end as Procedure.

use serde_json::{Value, json};

use super::terms::{body_site, coded, in_words, own, quantity, reference};
use crate::{
    ids::HorseId,
    papers::words::{Units, sentence},
    record::{Body, Dosed, Entry, How, Kind},
};

/// An entry of something that was done, when it is one.
pub(super) fn done(entry: &Entry, body: &Body, horse: HorseId) -> Option<Value> {
    match (body.kind, &body.dosed) {
        (Kind::Treatment, Some(dosed)) => Some(medicine(entry, body, dosed, horse)),
        (Kind::Treatment | Kind::Block | Kind::Euthanasia, _) => Some(procedure(entry, body, horse)),
        _ => None,
    }
}

fn procedure(entry: &Entry, body: &Body, horse: HorseId) -> Value {
    let given = body.given.as_ref().and_then(|given| given.at);
    let at = body.death.as_ref().map(|death| death.at).or(given).unwrap_or_else(|| entry.seen());
    json!({
        "resourceType": "Procedure",
        "id": entry.id.to_string(),
        "status": "completed",
        "code": in_words(&sentence(body, Units::default())),
        "subject": reference(horse),
        "encounter": reference(entry.visit_id),
        "performedDateTime": at.iso(),
        "performer": [{ "actor": reference(entry.seen_by) }],
        "bodySite": [body_site(body)],
    })
}

/// Given, handed over and prescribed are three resources. Whether a prescription was filled, the record does not say.
fn medicine(entry: &Entry, body: &Body, dosed: &Dosed, horse: HorseId) -> Value {
    let concept = coded(&own("medicine"), &dosed.medicine, &dosed.name);
    let (note, at) = (json!([{ "text": sentence(body, Units::default()) }]), dosed.at.iso());
    let (subject, encounter, by) = (reference(horse), reference(entry.visit_id), reference(entry.seen_by));
    let id = entry.id.to_string();
    match dosed.how {
        How::Administered => json!({
            "resourceType": "MedicationAdministration",
            "id": id,
            "status": "completed",
            "medicationCodeableConcept": concept,
            "subject": subject,
            "context": encounter,
            "effectiveDateTime": at,
            "performer": [{ "actor": by }],
            "note": note,
            "dosage": { "route": in_words(&dosed.route), "dose": quantity(dosed.mg, "mg") },
        }),
        How::Dispensed => json!({
            "resourceType": "MedicationDispense",
            "id": id,
            "status": "completed",
            "medicationCodeableConcept": concept,
            "subject": subject,
            "context": encounter,
            "performer": [{ "actor": by }],
            "whenHandedOver": at,
            "note": note,
            "dosageInstruction": [instruction(dosed)],
        }),
        How::Prescribed => json!({
            "resourceType": "MedicationRequest",
            "id": id,
            "status": "unknown",
            "intent": "order",
            "medicationCodeableConcept": concept,
            "subject": subject,
            "encounter": encounter,
            "authoredOn": at,
            "requester": by,
            "note": note,
            "dosageInstruction": [instruction(dosed)],
        }),
    }
}

fn instruction(dosed: &Dosed) -> Value {
    json!({
        "text": dosed.directions.as_deref().unwrap_or_default(),
        "route": in_words(&dosed.route),
        "doseAndRate": [{ "doseQuantity": quantity(dosed.mg, "mg") }],
    })
}
