//! The run of an import: one transaction, so that all of it is there or nothing. How far it has come is kept in memory,
//! since nobody can read what is not committed.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, PoisonError, atomic::AtomicUsize, atomic::Ordering},
};

use serde_json::{Value, json};

use super::{
    State,
    plan::Plan,
    store::{self, many},
};
use crate::{
    App, audit,
    clock::At,
    db::Tx,
    horses::PartyRole,
    ids::{ImportId, StaffId},
    practice, search,
};

/// How far the runs of this server have come: steps done, and of how many.
#[derive(Debug, Default)]
pub struct Runs(Mutex<HashMap<ImportId, Arc<Progress>>>);

#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicUsize,
    of: AtomicUsize,
}

impl Progress {
    fn step(&self, steps: usize) {
        self.done.fetch_add(steps, Ordering::Relaxed);
    }

    /// From 0 to 100.
    pub fn percent(&self) -> usize {
        let of = self.of.load(Ordering::Relaxed).max(1);
        (self.done.load(Ordering::Relaxed) * 100 / of).min(100)
    }
}

impl Runs {
    /// The run of this import, while it runs.
    pub fn of(&self, id: ImportId) -> Option<Arc<Progress>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).get(&id).cloned()
    }

    fn begin(&self, id: ImportId) -> Arc<Progress> {
        let progress = Arc::<Progress>::default();
        self.0.lock().unwrap_or_else(PoisonError::into_inner).insert(id, progress.clone());
        progress
    }

    fn end(&self, id: ImportId) {
        self.0.lock().unwrap_or_else(PoisonError::into_inner).remove(&id);
    }
}

/// Begins a run whose import is marked as running; it goes on when nobody waits for it.
pub(super) fn begin(app: &App, id: ImportId, by: StaffId) -> tokio::task::JoinHandle<()> {
    let progress = app.imports.begin(id);
    let app = app.clone();
    tokio::spawn(async move {
        if let Err(error) = run(&app, id, by, &progress).await {
            tracing::error!(error = format!("{error:#}"), "an import came to nothing");
            let words =
                "The run failed and nothing of it was entered. Try again; if it stays, look at the log.";
            if let Ok(mut tx) = app.db.write().await
                && store::failed(&mut tx, id, words).await.is_ok()
            {
                let _ = tx.commit().await;
            }
        }
        app.imports.end(id);
    })
}

async fn run(app: &App, id: ImportId, by: StaffId, progress: &Progress) -> anyhow::Result<()> {
    let db = app.db.read();
    let import = store::get(db, id).await?;
    let rows = store::rows(db, id, "", (0, -1)).await?;
    let practice = practice::store::get(db).await?;
    let now = app.clock.now();
    let yards = store::yards(&mut *db.acquire().await?).await?;
    let today = now.day(&practice.zone);
    let plan = tokio::task::spawn_blocking(move || Plan::of(&import, &rows, yards, &practice, today)).await?;
    // Everybody else's writing waits from here to the end, so all that can be thought of before is.
    let mut tx = app.db.write().await?;
    if let Some(gone) = gone(&mut tx, &plan).await? {
        store::failed(&mut tx, id, &gone).await?;
        return tx.commit().await;
    }
    let steps = plan.clients.len() * 2 + plan.horses.len() * 2 + plan.parties.len() + plan.results.len();
    progress.of.store(steps, Ordering::Relaxed);
    write(&mut tx, id, &plan, now, progress).await?;
    lines(&mut tx, &plan, progress).await?;
    let version = store::get(&mut *tx, id).await?.version;
    store::set_state(&mut tx, id, version, (State::Running, State::Done), (by, now)).await?;
    let said = format!(
        "{} clients, {} horses, {} yards out of {} rows",
        plan.clients.len(),
        plan.horses.len(),
        plan.yards.len(),
        plan.results.len()
    );
    audit::store::note(&mut tx, "imported", &said, by, now).await?;
    tx.commit().await
}

/// Somebody whom a row was to join and who is not here any more.
async fn gone(tx: &mut Tx, plan: &Plan) -> anyhow::Result<Option<String>> {
    let (clients, horses) = store::everybody(tx).await?;
    let here = clients.iter().map(|c| c.id).collect::<std::collections::HashSet<_>>();
    let stands = horses.iter().map(|h| h.id).collect::<std::collections::HashSet<_>>();
    let missing =
        plan.joined_clients.difference(&here).count() + plan.joined_horses.difference(&stands).count();
    Ok((missing > 0).then(|| {
        "Somebody whom a row was taken for is not here any more. Read the columns again, then decide again.".into()
    }))
}

async fn write(tx: &mut Tx, id: ImportId, plan: &Plan, now: At, progress: &Progress) -> anyhow::Result<()> {
    let key = id.to_string();
    let made = |kind: &str, id: String| json!([key, kind, id]);
    let mut all_made = Vec::new();
    let (mut clients, mut phones, mut addresses) = (Vec::new(), Vec::new(), Vec::new());
    for (client, d) in &plan.clients {
        let id = client.to_string();
        all_made.push(made("client", id.clone()));
        clients.push(json!([id, d.kind.key(), d.name, d.email, d.note, now]));
        for (at, phone) in d.phones.iter().enumerate() {
            let one = crate::ids::PhoneId::new().to_string();
            phones.push(json!([one, id, at, phone.label, phone.number, phone.digits()]));
        }
        for (at, address) in d.addresses.iter().enumerate() {
            addresses.push(json!([crate::ids::AddressId::new().to_string(), id, at, address.lines]));
        }
    }
    many(tx, CLIENTS, &clients, |n| progress.step(n)).await?;
    many(tx, PHONES, &phones, |_| ()).await?;
    many(tx, ADDRESSES, &addresses, |_| ()).await?;
    let yards: Vec<Value> = plan.yards.iter().map(|(id, name)| json!([id.to_string(), name, now])).collect();
    all_made.extend(plan.yards.iter().map(|(id, _)| made("yard", id.to_string())));
    many(tx, YARDS, &yards, |_| ()).await?;
    let horses = plan.horses.iter().map(|(id, d)| horse(&id.to_string(), d, now)).collect::<Vec<_>>();
    all_made.extend(plan.horses.iter().map(|(id, _)| made("horse", id.to_string())));
    many(tx, HORSES, &horses, |n| progress.step(n)).await?;
    let mut parties = Vec::new();
    for (horse, client, role) in &plan.parties {
        let one = crate::ids::PartyId::new().to_string();
        let may = i32::from(*role == PartyRole::Owner);
        all_made.push(made("party", one.clone()));
        parties.push(json!([one, horse.to_string(), client.to_string(), role.key(), may, now]));
    }
    many(tx, PARTIES, &parties, |n| progress.step(n)).await?;
    many(tx, MADE, &all_made, |_| ()).await?;
    let results: Vec<Value> =
        plan.results.iter().map(|(number, result, said)| json!([key, number, result, said])).collect();
    many(tx, RESULTS, &results, |n| progress.step(n)).await
}

fn horse(id: &str, d: &crate::horses::Details, now: At) -> Value {
    let yard = d.yard_id.map_or_else(String::new, |id| id.to_string());
    json!([
        id,
        d.name,
        d.stable_name,
        d.sex.key(),
        d.neutered.key(),
        d.born,
        d.breed,
        d.breed_code,
        d.colour,
        d.markings,
        d.height_cm,
        d.microchip,
        d.microchip_other,
        d.ueln,
        d.passport,
        d.insurance,
        yard,
        now
    ])
}

/// What the search finds.
async fn lines(tx: &mut Tx, plan: &Plan, progress: &Progress) -> anyhow::Result<()> {
    let clients: Vec<_> = plan.clients.iter().map(|(id, _)| *id).collect();
    let yards: Vec<_> = plan.yards.iter().map(|(id, _)| *id).collect();
    let mut horses: Vec<_> = plan.horses.iter().map(|(id, _)| *id).collect();
    for some in clients.chunks(1000) {
        search::index::clients(tx, some).await?;
        progress.step(some.len());
    }
    search::index::yards(tx, &yards).await?;
    // Horses that were here have new people.
    horses.extend(&plan.joined_horses);
    for some in horses.chunks(1000) {
        search::index::horses(tx, some).await?;
        progress.step(some.len());
    }
    Ok(())
}

// Rows handed in as JSON: the compile-time check of queries says nothing about what is in them, the tests do.
const CLIENTS: &str = "insert into client (id, kind, name, email, note, created_at)
    select unhex(replace(value ->> 0, '-', '')), value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5 from json_each(?)";
const PHONES: &str = "insert into client_phone (id, client_id, position, label, number, digits)
    select unhex(replace(value ->> 0, '-', '')), unhex(replace(value ->> 1, '-', '')), value ->> 2, value ->> 3, value ->> 4,
           value ->> 5 from json_each(?)";
const ADDRESSES: &str = "insert into client_address (id, client_id, position, lines)
    select unhex(replace(value ->> 0, '-', '')), unhex(replace(value ->> 1, '-', '')), value ->> 2, value ->> 3 from json_each(?)";
const YARDS: &str = "insert into yard (id, name, created_at)
    select unhex(replace(value ->> 0, '-', '')), value ->> 1, value ->> 2 from json_each(?)";
const HORSES: &str = "insert into horse (id, name, stable_name, sex, neutered, born, breed, breed_code, colour, markings,
        height_cm, microchip, microchip_other, ueln, passport, insurance, yard_id, created_at)
    select unhex(replace(value ->> 0, '-', '')), value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5, value ->> 6,
           value ->> 7, value ->> 8, value ->> 9, value ->> 10, value ->> 11, value ->> 12, value ->> 13, value ->> 14,
           value ->> 15, nullif(unhex(replace(value ->> 16, '-', '')), x''), value ->> 17 from json_each(?)";
const PARTIES: &str = "insert or ignore into party (id, horse_id, client_id, role, may_authorise, pays, gets_reports, created_at)
    select unhex(replace(value ->> 0, '-', '')), unhex(replace(value ->> 1, '-', '')), unhex(replace(value ->> 2, '-', '')),
           value ->> 3, value ->> 4, value ->> 4, value ->> 4, value ->> 5 from json_each(?)";
const MADE: &str = "insert into import_made (import_id, kind, id)
    select unhex(replace(value ->> 0, '-', '')), value ->> 1, unhex(replace(value ->> 2, '-', '')) from json_each(?)";
const RESULTS: &str = "insert into import_row (import_id, number, line, cells, result, said)
    select unhex(replace(value ->> 0, '-', '')), value ->> 1, 0, '[]', value ->> 2, value ->> 3 from json_each(?) where true
    on conflict (import_id, number) do update set result = excluded.result, said = excluded.said";
