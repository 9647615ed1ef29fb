//! A horse as FHIR R4B: what the models of a library do not check, codes that the standard binds and references that lead
//! somewhere. The shapes are checked by `tests/clients/desk.py` with fhir.resources.

use std::collections::HashSet;

use limbledger::{
    accounts::Role,
    record::{Body, Kind, NewEntry},
};
use serde_json::Value;

use crate::support::{
    Browser, TestApp,
    record::{Story, clear, finding},
};

async fn ask(browser: &mut Browser, path: &str) -> Value {
    let page = browser.get(path).await;
    serde_json::from_str(&page.text).unwrap_or_else(|fault| panic!("{path}: {fault}: {}", page.text))
}

/// Every resource of a kind.
fn of<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().unwrap();
    entries.iter().map(|one| &one["resource"]).filter(|one| one["resourceType"] == kind).collect()
}

fn references(value: &Value, into: &mut Vec<String>) {
    match value {
        Value::Object(members) => {
            if let Some(Value::String(one)) = members.get("reference") {
                into.push(one.clone());
            }
            members.values().for_each(|value| references(value, into));
        }
        Value::Array(items) => items.iter().for_each(|value| references(value, into)),
        _ => {}
    }
}

/// Codes of the standard's required bindings (HL7 FHIR R4B: encounter-status, observation-status, request-status).
const BOUND: [(&str, &[&str]); 3] = [
    ("Encounter", &["planned", "arrived", "triaged", "in-progress", "onleave", "finished", "cancelled"]),
    ("Observation", &["registered", "preliminary", "final", "amended"]),
    ("CarePlan", &["draft", "active", "on-hold", "revoked", "completed", "unknown"]),
];

#[tokio::test]
async fn a_gelding_is_a_neutered_male_and_everything_of_it_hangs_together() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let signed = story.visit("2026-03-02").await;
    story.say(signed, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    story.say(signed, clear("CARP", "L")).await;
    story
        .say(signed, Body { code: Some("temp_c".into()), number: Some(37.8), ..Body::new(Kind::Vital) })
        .await;
    story.sign(signed).await;
    let open = story.visit("2026-03-10").await;
    story.say(open, Body { text: Some("box rest".into()), ..Body::new(Kind::Plan) }).await;

    let mut vet = test.signed_in(Role::Vet).await;
    let at = format!("/fhir/Patient/{}", story.horse);
    let horse = ask(&mut vet, &at).await;
    assert_eq!((&horse["resourceType"], &horse["gender"]), (&"Patient".into(), &"male".into()));
    let animal = horse["extension"][0]["extension"].as_array().unwrap();
    let code = |url: &str| {
        let part = animal.iter().find(|part| part["url"] == url)?;
        part["valueCodeableConcept"]["coding"][0]["code"].as_str()
    };
    assert_eq!((code("species"), code("genderStatus")), (Some("35354009"), Some("neutered")));
    assert_eq!(horse["identifier"][0]["value"], "276020000000017");

    let bundle = ask(&mut vet, &format!("{at}/$everything")).await;
    let addresses: Vec<&str> =
        bundle["entry"].as_array().unwrap().iter().map(|one| one["fullUrl"].as_str().unwrap()).collect();
    assert_eq!(addresses.iter().collect::<HashSet<_>>().len(), addresses.len(), "each stands there once");
    let mut led = Vec::new();
    references(&bundle, &mut led);
    assert!(!led.is_empty() && led.iter().all(|one| addresses.contains(&one.as_str())), "{led:?}");

    for (kind, codes) in BOUND {
        let found = of(&bundle, kind);
        assert!(!found.is_empty(), "no {kind}");
        assert!(
            found.iter().all(|one| codes.contains(&one["status"].as_str().unwrap())),
            "{kind}: {found:?}"
        );
    }
    assert_eq!(of(&bundle, "Encounter").iter().map(|one| &one["status"]).collect::<HashSet<_>>().len(), 2);
    let seen = of(&bundle, "Observation");
    let warm = seen.iter().find(|one| one["code"]["coding"][0]["code"] == "temp_c").unwrap();
    assert_eq!(
        (&warm["valueQuantity"]["value"], &warm["valueQuantity"]["code"]),
        (&37.8.into(), &"Cel".into())
    );
    let full = seen.iter().find(|one| one["code"]["coding"][0]["code"] == "EFF").unwrap();
    assert_eq!(full["valueQuantity"]["value"], 2.0);
    let side = &full["bodySite"]["extension"][0]["valueCodeableConcept"]["coding"][0];
    assert_eq!((&side["code"], &side["display"]), (&"7771000".into(), &"Left".into()));
    assert_eq!(of(&bundle, "CarePlan")[0]["activity"][0]["detail"]["description"], "box rest");
}

#[tokio::test]
async fn what_is_taken_back_and_who_is_gone_do_not_go_along() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let visit = story.visit("2026-03-10").await;
    let first = story.say(visit, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let at = format!("/fhir/Patient/{}/$everything", story.horse);
    assert_eq!(of(&ask(&mut vet, &at).await, "Observation").len(), 1);
    let back = Body { reason: Some("the other leg".into()), ..Body::new(Kind::Withdrawal) };
    story.add(NewEntry::new(visit, back).superseding(first)).await;
    assert_eq!(of(&ask(&mut vet, &at).await, "Observation").len(), 0);
    let nobody = vet.get(&format!("/fhir/Patient/{visit}")).await;
    assert_eq!(nobody.status, axum::http::StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn what_was_recorded_for_a_former_owner_stays_unless_somebody_says_why() {
    let test = TestApp::new().await;
    let story = Story::new(&test).await;
    let before = story.visit("2026-03-02").await;
    story.say(before, finding("FETL_D", "L", "EFF", 2.0, "effusion_0_4")).await;
    story.owned(("Old Owner", "New Owner"), "2026-03-05").await;
    let after = story.visit("2026-03-10").await;
    story.say(after, clear("CARP", "L")).await;
    let mut vet = test.signed_in(Role::Vet).await;
    let read = format!("/fhir/Patient/{}/$everything", story.horse);
    let part = ask(&mut vet, &read).await;
    let visits = |bundle: &Value| -> Vec<String> {
        of(bundle, "Encounter").iter().map(|one| one["id"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(visits(&part), [after.to_string()]);
    assert_eq!(of(&part, "Observation").len(), 1, "what was seen of it before is not sent either");
    let page = format!("/horses/{}/record", story.horse);
    let taken = format!("{page}/taken");
    let form = vet.get(&page).await;
    assert!(form.text.contains("before 5 Mar 2026"), "the page says since when");
    let silent = vet.fill(&form, &taken, &[("take", "fhir"), ("whole", "yes")]).await;
    assert!(silent.has("#why-error") && silent.status.as_u16() == 422);
    let untold = vet.fill(&form, &taken, &[("take", "fhir"), ("why", "she asked")]).await;
    assert!(untold.has("#whole-error") && untold.values_of("why") == ["she asked"]);
    let told = [("take", "fhir"), ("whole", "yes"), ("why", "the former owner allows it")];
    let file = vet.fill(&form, &taken, &told).await.location().to_owned();
    assert_eq!(visits(&ask(&mut vet, &file).await).len(), 2);
    let nobody = test.signed_in(Role::Technician).await.get(&file).await;
    assert_eq!(nobody.status, axum::http::StatusCode::NOT_FOUND, "it is for whoever asked");

    let audit = test.signed_in(Role::Owner).await.get("/practice/audit").await;
    assert_eq!(audit.texts(".lines b"), ["whole record taken as FHIR", "record read as FHIR"]);
    assert!(audit.text.contains("Briar: the former owner allows it"));
}
