//! Systems, codes and small shapes of FHIR R4B that every resource uses.

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use uuid::{Builder, Uuid};

use crate::{
    catalogue::{Limb, Side},
    plan::Site,
    record::Body,
};

pub(super) const SNOMED: &str = "http://snomed.info/sct";
const UNITS: &str = "http://unitsofmeasure.org";
const LATERALITY: &str = "http://hl7.org/fhir/StructureDefinition/observation-structureLaterality";
/// Left and right of the body in SNOMED CT, as DICOM's context group 244 lists them.
const LEFT: (&str, &str) = ("7771000", "Left");
const RIGHT: (&str, &str) = ("24028007", "Right");

/// A system of our own codes: `finding`, `vital` and the like. The name ends in `.invalid`, so nobody answers there.
pub(super) fn own(kind: &str) -> String {
    format!("https://limbledger.invalid/codes/{kind}")
}

/// An id for what has none in the store: always the same for the same words.
pub(super) fn derived(words: &str) -> Uuid {
    let digest = Sha256::digest(words.as_bytes());
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    Builder::from_custom_bytes(bytes).into_uuid()
}

/// What other resources of the bundle call a resource.
pub(super) fn reference(id: impl std::fmt::Display) -> Value {
    json!({ "reference": format!("urn:uuid:{id}") })
}

/// A code with its words.
pub(super) fn coded(system: &str, code: &str, words: &str) -> Value {
    json!({ "coding": [{ "system": system, "code": code, "display": words }], "text": words })
}

/// A concept of which only the words are known.
pub(super) fn in_words(words: &str) -> Value {
    json!({ "text": words })
}

/// A number with its unit; the code of UCUM where the unit has one here.
pub(super) fn quantity(number: f64, unit: &str) -> Value {
    let code = match unit {
        "°C" => "Cel",
        "kg" | "mg" | "s" | "mm" | "cm" | "%" => unit,
        "ml" => "mL",
        "U/l" | "U/L" => "U/L",
        "per minute" | "/min" | "a minute" | "beats/min" | "breaths/min" => "/min",
        "degrees" | "°" => "deg",
        _ => return json!({ "value": number, "unit": unit }),
    };
    json!({ "value": number, "unit": unit, "system": UNITS, "code": code })
}

/// Where on the horse an entry lies, with the side as the standard's extension; nothing for the whole horse.
pub(super) fn body_site(body: &Body) -> Value {
    let site = Site::of(body);
    if site == Site::Whole {
        return Value::Null;
    }
    let (code, words) = (site.key(), site.to_string());
    let mut concept = coded(&own("place"), &code, &words);
    let half = match site {
        Site::Place(place) => Some(place.side()),
        Site::Limb(limb) => Some(limb_side(limb)),
        Site::Whole => None,
    };
    let (number, name) = match half {
        Some(Side::L) => LEFT,
        Some(Side::R) => RIGHT,
        _ => return concept,
    };
    concept["extension"] =
        json!([{ "url": LATERALITY, "valueCodeableConcept": coded(SNOMED, number, name) }]);
    concept
}

fn limb_side(limb: Limb) -> Side {
    if limb.code().starts_with('L') { Side::L } else { Side::R }
}

/// Without what is empty: the standard takes no empty member.
pub(super) fn lean(value: Value) -> Value {
    match value {
        Value::Object(members) => {
            let kept: Map<String, Value> = members
                .into_iter()
                .map(|(name, value)| (name, lean(value)))
                .filter(|(_, value)| !is_empty(value))
                .collect();
            Value::Object(kept)
        }
        Value::Array(items) => {
            Value::Array(items.into_iter().map(lean).filter(|one| !is_empty(one)).collect())
        }
        Value::String(text) => Value::String(text.trim().to_owned()),
        other => other,
    }
}

fn is_empty(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::String(text) => text.is_empty(),
        Value::Array(items) => items.is_empty(),
        Value::Object(members) => members.is_empty(),
        _ => false,
    }
}
