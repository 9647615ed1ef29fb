//! What was ordered and what came of it: `ServiceRequest`, `ImagingStudy`, Specimen, `DiagnosticReport` and `DocumentReference`.

use serde_json::{Value, json};

use super::{
    facts::Ordered,
    terms::{body_site, derived, in_words, own, reference},
};
use crate::{
    diagnostics::Order,
    ids::HorseId,
    imaging::store::pictures::Pictured,
    papers::words::{Units, sentence},
    record::{Body, Entry, Kind},
};

const UID: &str = "urn:dicom:uid";

pub(super) fn request(order: &Order, horse: HorseId) -> Value {
    let status = match (order.is_closed(), order.closed_reason.is_empty()) {
        (false, _) => "active",
        (true, true) => "completed",
        (true, false) => "revoked",
    };
    json!({
        "resourceType": "ServiceRequest",
        "id": order.id.to_string(),
        "identifier": [{ "type": in_words("accession number"), "value": order.accession }],
        "status": status,
        "intent": "order",
        "code": in_words(&order.name),
        "subject": reference(horse),
        "encounter": reference(order.visit_id),
        "occurrenceDateTime": order.planned_on.map(|day| day.to_string()),
        "authoredOn": order.ordered_at.iso(),
        "requester": reference(order.ordered_by),
        "note": if order.question.is_empty() { Value::Null } else { json!([{ "text": order.question }]) },
    })
}

/// The pictures of an order, where any came; the study's own number leads to them.
pub(super) fn study(of: &Ordered, horse: HorseId) -> Option<Value> {
    let first = of.pictures.first()?;
    let order = &of.order;
    Some(json!({
        "resourceType": "ImagingStudy",
        "id": derived(&format!("study {}", order.id)).to_string(),
        "identifier": [{ "system": UID, "value": format!("urn:oid:{}", order.study_uid) }],
        "status": "available",
        "subject": reference(horse),
        "encounter": reference(order.visit_id),
        "started": first.received_at.iso(),
        "basedOn": [reference(order.id)],
        "numberOfInstances": of.pictures.len(),
        "description": order.name,
        "note": [{ "text": of.pictures.iter().map(Pictured::words).collect::<Vec<_>>().join(", ") }],
    }))
}

/// What came of an order, when it is a report, a sample or a file.
pub(super) fn result(entry: &Entry, body: &Body, of: &Ordered, horse: HorseId) -> Option<Value> {
    let id = entry.id.to_string();
    let words = sentence(body, Units::default());
    let order = &of.order;
    match body.kind {
        Kind::Report => Some(json!({
            "resourceType": "DiagnosticReport",
            "id": id,
            "basedOn": [reference(order.id)],
            "status": "final",
            "code": in_words(&order.name),
            "subject": reference(horse),
            "encounter": reference(entry.visit_id),
            "effectiveDateTime": entry.seen().iso(),
            "issued": entry.received_at.iso(),
            "performer": [reference(entry.seen_by)],
            "conclusion": words,
        })),
        Kind::Sample => Some(json!({
            "resourceType": "Specimen",
            "id": id,
            "type": in_words(body.text.as_deref().unwrap_or(&words)),
            "subject": reference(horse),
            "request": [reference(order.id)],
            "collection": { "collectedDateTime": entry.seen().iso(), "bodySite": body_site(body) },
            "note": [{ "text": words }],
        })),
        Kind::File => Some(json!({
            "resourceType": "DocumentReference",
            "id": id,
            "masterIdentifier": { "system": own("sha-256"), "value": body.value },
            "status": "current",
            "subject": reference(horse),
            "date": entry.received_at.iso(),
            "content": [{ "attachment": { "title": words } }],
            "context": { "encounter": [reference(entry.visit_id)] },
        })),
        _ => None,
    }
}
