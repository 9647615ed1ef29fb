//! The answers: one horse, and everything of it as a collection.

use std::collections::{BTreeMap, HashSet};

use axum::{
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use serde_json::{Value, json};

use super::{
    facts::{Facts, OfVisit, Ordered},
    given, horse, ordered, seen,
    terms::lean,
    visit,
};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    clock::At,
    horses,
    ids::HorseId,
    record::{Entry, Kind},
    visits::State as VisitState,
    web::{Path, Result},
};

/// How the audit says it.
const READ: &str = "record read as FHIR";
const JSON: &str = "application/fhir+json; charset=utf-8";

pub(super) async fn patient(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<HorseId>,
) -> Result<Response> {
    let facts = Facts::of_horse(&app, id).await?;
    Ok(answer(&lean(horse::patient(&facts)), None))
}

/// What a program asks for: the time of the present owner. That it was read stands in the audit, as an export does.
pub(super) async fn everything(
    State(app): State<App>,
    Can { user, .. }: Can<act::SeeRecord>,
    Path(id): Path<HorseId>,
) -> Result<Response> {
    let since = horses::store::owned_since(app.db.read(), id).await?;
    let answer = collection(&app, id, since).await?;
    let name = horses::store::card(app.db.read(), id).await?.name;
    let mut tx = app.db.write_at_the_door().await?;
    audit::store::note(&mut tx, READ, &format!("{name} ({id})"), user.id, app.clock.now()).await?;
    tx.commit().await?;
    Ok(answer)
}

/// Everything of a horse from `since` on, as a file to keep.
///
/// # Errors
/// There is no such horse, or the record cannot be read.
pub async fn collection(app: &App, id: HorseId, since: Option<At>) -> Result<Response> {
    let facts = Facts::everything(app, id, since).await?;
    let bundle = bundle(&facts, app.clock.now());
    Ok(answer(&bundle, Some(&format!("horse-{id}.json"))))
}

/// Compact JSON; `file` is how a browser keeps it.
fn answer(value: &Value, file: Option<&str>) -> Response {
    let disposition = file.map_or("inline".to_owned(), |name| format!("attachment; filename=\"{name}\""));
    let headers = [(header::CONTENT_TYPE, JSON.to_owned()), (header::CONTENT_DISPOSITION, disposition)];
    (headers, value.to_string()).into_response()
}

/// Every resource once, each under its own address, so that references between them lead somewhere.
fn bundle(facts: &Facts, now: At) -> Value {
    let entries: Vec<Value> = resources(facts)
        .into_iter()
        .map(lean)
        .map(|one| json!({ "fullUrl": format!("urn:uuid:{}", one["id"].as_str().unwrap_or_default()), "resource": one }))
        .collect();
    json!({ "resourceType": "Bundle", "type": "collection", "timestamp": now.iso(), "entry": entries })
}

fn resources(facts: &Facts) -> Vec<Value> {
    let id = facts.id;
    let mut all = vec![horse::patient(facts)];
    all.extend(facts.parties.iter().map(|party| horse::related(party, id)));
    all.extend(facts.weights.iter().map(|weight| horse::weight(weight, id)));
    for of in &facts.visits {
        all.push(visit::encounter(of, facts));
        all.extend(of.complaints.iter().map(|one| visit::complaint(one, &of.visit, id)));
        all.extend(recorded(of, id));
    }
    for of in &facts.orders {
        all.push(ordered::request(&of.order, id));
        all.extend(ordered::study(of, id));
        all.extend(results(of, facts));
    }
    all.extend(facts.follow_ups.iter().map(|one| visit::follow_up(one, id)));
    let named = named(&all);
    let staff: BTreeMap<_, _> = facts.staff.values().map(|one| (one.id.to_string(), one)).collect();
    let here = staff.iter().filter(|(id, _)| named.contains(&format!("urn:uuid:{id}")));
    all.extend(here.map(|(_, one)| horse::practitioner(one)));
    all
}

/// What stands in the record of a visit.
fn recorded(of: &OfVisit, id: HorseId) -> Vec<Value> {
    let signed = of.visit.state == VisitState::Signed;
    let one = |entry: &Entry| {
        let body = entry.body.as_ref()?;
        match body.kind {
            Kind::Problem => Some(visit::problem(entry, body, id)),
            Kind::Plan => Some(visit::plan(entry, body, id)),
            _ => seen::observation(entry, body, id, signed).or_else(|| given::done(entry, body, id)),
        }
    };
    of.entries.iter().filter_map(one).collect()
}

/// What came of an order: reports, samples and files, and what was seen and measured on them.
fn results(of: &Ordered, facts: &Facts) -> Vec<Value> {
    let one = |entry: &Entry| {
        let body = entry.body.as_ref()?;
        ordered::result(entry, body, of, facts.id).or_else(|| seen::observation(entry, body, facts.id, true))
    };
    of.entries.iter().filter_map(one).collect()
}

/// What the resources refer to.
fn named(resources: &[Value]) -> HashSet<String> {
    let mut into = HashSet::new();
    for one in resources {
        gather(one, &mut into);
    }
    into
}

fn gather(value: &Value, into: &mut HashSet<String>) {
    match value {
        Value::Object(members) => {
            if let Some(Value::String(one)) = members.get("reference") {
                into.insert(one.clone());
            }
            members.values().for_each(|value| gather(value, into));
        }
        Value::Array(items) => items.iter().for_each(|value| gather(value, into)),
        _ => {}
    }
}
