//! The horse as a Patient, its people as `RelatedPerson`, and those who worked on it as Practitioner.

use serde_json::{Value, json};

use super::{
    facts::Facts,
    terms::{SNOMED, coded, derived, in_words, own, quantity, reference},
};
use crate::{
    accounts::store::Staff,
    catalogue::catalogue,
    horses::{
        Known, Sex, Status,
        store::{Party, Weight},
    },
    ids::HorseId,
};

const ANIMAL: &str = "http://hl7.org/fhir/StructureDefinition/patient-animal";
const GENDER_STATUS: &str = "http://hl7.org/fhir/animal-genderstatus";
/// Equus caballus in SNOMED CT, as DICOM's context group 7454 lists it.
const HORSE: (&str, &str) = ("35354009", "Equus caballus");

/// The horse. A gelding is a male that is neutered.
pub(super) fn patient(facts: &Facts) -> Value {
    let (card, details) = (&facts.card, &facts.details);
    json!({
        "resourceType": "Patient",
        "id": facts.id.to_string(),
        "extension": [{ "url": ANIMAL, "extension": animal(facts) }],
        "identifier": identifiers(facts),
        "active": card.status == Status::Here || card.status == Status::Retired,
        "name": names(&details.name, &details.stable_name),
        "gender": match details.sex { Sex::Male => "male", Sex::Female => "female", Sex::Unknown => "unknown" },
        "birthDate": details.born,
        "deceasedBoolean": (card.status == Status::Dead).then_some(true),
        "contact": facts.parties.iter().map(contact).collect::<Vec<_>>(),
        "managingOrganization": { "display": facts.practice.name },
    })
}

/// As it is entered, and as it is called in the stable.
fn names(name: &str, stable_name: &str) -> Vec<Value> {
    let both = [("official", name), ("nickname", stable_name)];
    let said = both.into_iter().filter(|(_, text)| !text.is_empty());
    said.map(|(kind, text)| json!({ "use": kind, "text": text })).collect()
}

fn animal(facts: &Facts) -> Value {
    let details = &facts.details;
    let known =
        details.breed_code.as_deref().and_then(|code| catalogue().breeds.iter().find(|one| one.code == code));
    let breed = match known {
        Some(breed) => coded(SNOMED, &breed.code, &breed.name),
        None => in_words(&details.breed),
    };
    let (code, words) = match details.neutered {
        Known::Yes => ("neutered", "Neutered"),
        Known::No => ("intact", "Intact"),
        Known::Unknown => ("unknown", "Unknown"),
    };
    let part = |url: &str, value: Value| json!({ "url": url, "valueCodeableConcept": value });
    let mut parts = vec![part("species", coded(SNOMED, HORSE.0, HORSE.1))];
    if !details.breed.is_empty() || known.is_some() {
        parts.push(part("breed", breed));
    }
    parts.push(part("genderStatus", coded(GENDER_STATUS, code, words)));
    Value::Array(parts)
}

fn identifiers(facts: &Facts) -> Vec<Value> {
    let details = &facts.details;
    let named = [
        ("transponder (ISO 11784)", &details.microchip),
        ("transponder of another kind", &details.microchip_other),
        ("UELN", &details.ueln),
        ("passport", &details.passport),
    ];
    let filled = named.into_iter().filter(|(_, value)| !value.is_empty());
    filled.map(|(name, value)| json!({ "type": in_words(name), "value": value })).collect()
}

fn contact(party: &Party) -> Value {
    json!({
        "relationship": [in_words(&party.role.to_string())],
        "name": { "text": party.name },
        "telecom": telecom(party),
    })
}

fn telecom(party: &Party) -> Vec<Value> {
    party.phone.iter().map(|number| json!({ "system": "phone", "value": number })).collect()
}

/// Somebody who belongs to the horse. Former owners are not sent.
pub(super) fn related(party: &Party, horse: HorseId) -> Value {
    json!({
        "resourceType": "RelatedPerson",
        "id": party.id.to_string(),
        "active": true,
        "patient": reference(horse),
        "relationship": [coded(&own("party"), party.role.key(), &party.role.to_string())],
        "name": [{ "text": party.name }],
        "telecom": telecom(party),
    })
}

pub(super) fn practitioner(staff: &Staff) -> Value {
    let qualified = staff.licensed.then(|| json!([{ "code": in_words("licensed veterinarian") }]));
    json!({
        "resourceType": "Practitioner",
        "id": staff.id.to_string(),
        "active": staff.active,
        "name": [{ "text": staff.name }],
        "qualification": qualified,
    })
}

/// A weight is no entry of a visit: its day, method and number make its name.
pub(super) fn weight(weight: &Weight, horse: HorseId) -> Value {
    let name = format!("weight {horse} {} {} {}", weight.weighed_on, weight.method, weight.kg);
    json!({
        "resourceType": "Observation",
        "id": derived(&name).to_string(),
        "status": "final",
        "code": coded(&own("vital"), "weight_kg", "body weight"),
        "subject": reference(horse),
        "effectiveDateTime": weight.weighed_on.to_string(),
        "valueQuantity": quantity(weight.kg, "kg"),
        "method": in_words(&weight.method),
    })
}
