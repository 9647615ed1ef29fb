//! What the record holds of a submission sheet already.

use std::collections::BTreeMap;

use crate::{
    App,
    horses::{self, Card, Details},
    papers::{
        samples as words,
        words::{self as sentences, Units},
    },
    plan::HISTORY,
    practice::{self, Practice},
    record::{self, Body, Kind},
    samples::{case::Case, store},
    visits::{self, Complaint, Visit},
    web::Result,
};

/// The study whose reports are of genes.
const GENES: &str = "blood_genes";

/// By the key of the field.
#[derive(Debug)]
pub(super) struct Gathered(BTreeMap<&'static str, String>);

impl Gathered {
    pub(super) async fn load(app: &App, case: &Case) -> Result<(Self, Card)> {
        let db = app.db.read();
        let (order, horse) = (&case.order, case.order.horse_id);
        let card = horses::store::card(db, horse).await?;
        let (details, _) = horses::store::details(db, horse).await?;
        let practice = practice::store::get(db).await?;
        let visit = visits::store::get(db, order.visit_id).await?;
        let complaints = visits::store::complaints(db, order.visit_id).await?;
        let entries = record::current_of_visit(db, order.visit_id).await?;
        let bodies: Vec<Body> = entries.into_iter().filter_map(|entry| entry.body).collect();
        let mut all = BTreeMap::new();
        of_practice(&mut all, case, &practice, &visit);
        of_horse(&mut all, &card, &details, case);
        of_visit(&mut all, &bodies, &complaints, Units::of(&practice));
        let enzymes = store::of_horse(db, horse, Kind::Enzyme, None).await?;
        all.insert("enzymes", lines(enzymes.iter().map(|body| enzyme(body, case))));
        let genes = store::of_horse(db, horse, Kind::Report, Some(GENES)).await?;
        all.insert("genetics", lines(genes.iter().map(sentences::reported)));
        all.insert("exercise", exercise(&details, &complaints));
        all.insert("question", question(case));
        Ok((Gathered(all), card))
    }

    /// Empty where the record says nothing.
    pub(super) fn words(&self, key: &str) -> &str {
        self.0.get(key).map_or("", String::as_str)
    }
}

type All = BTreeMap<&'static str, String>;

fn of_practice(all: &mut All, case: &Case, practice: &Practice, visit: &Visit) {
    all.insert("practice", practice.name.clone());
    let orderer = case.name(case.order.ordered_by).to_owned();
    all.insert("vet", visit.vet.clone().unwrap_or(orderer));
    let route = case.laboratory().map(|one| one.result_route.clone());
    all.insert("result_route", route.unwrap_or_default());
}

fn of_horse(all: &mut All, card: &Card, details: &Details, case: &Case) {
    let today = case.today();
    let called = match card.stable_name.as_str() {
        "" => card.name.clone(),
        stable => format!("{}, “{stable}”", card.name),
    };
    all.insert("owner", card.owner.clone().unwrap_or_default());
    all.insert("horse", called);
    all.insert("age", card.age(today).map(|years| format!("{years} years")).unwrap_or_default());
    all.insert("sex", card.sex_word(today).to_owned());
    all.insert("breed", card.breed.clone());
    all.insert("use", details.work_use.clone());
}

fn of_visit(all: &mut All, bodies: &[Body], complaints: &[Complaint], units: Units) {
    let is_history = |body: &&Body| body.kind == Kind::Note && body.value.as_deref() == Some(HISTORY);
    let told = bodies.iter().filter(is_history).filter_map(|body| body.text.clone());
    let called = complaints.iter().map(|complaint| complaint.words.clone());
    all.insert("history", lines(called.chain(told)));
    let signs = bodies.iter().filter(|body| is_sign(body)).map(|body| sentences::sentence(body, units));
    all.insert("signs", lines(signs));
    let given = bodies.iter().filter(|body| body.kind == Kind::Treatment);
    let given = given.map(|body| sentences::sentence(body, units));
    let before = complaints.iter().map(|complaint| complaint.medicines.clone());
    all.insert("treatment", lines(before.chain(given)));
}

/// What was seen, felt or measured: a place where nothing was found is said by its absence.
fn is_sign(body: &Body) -> bool {
    match body.kind {
        Kind::Finding | Kind::Neuro => body.present != Some(false),
        Kind::Vital | Kind::Gait | Kind::Flexion => true,
        _ => false,
    }
}

fn enzyme(body: &Body, case: &Case) -> String {
    let drawn = body.drawn.as_ref().map(|drawn| drawn.at.words(&case.zone)).unwrap_or_default();
    format!("{}, drawn {drawn}", words::enzyme(body))
}

fn exercise(details: &Details, complaints: &[Complaint]) -> String {
    let told = complaints.iter().map(|complaint| complaint.work.clone());
    lines(std::iter::once(details.work_level.clone()).chain(told))
}

fn question(case: &Case) -> String {
    let suspected = case.plan.suspected().map(|row| format!("suspected: {}", row.name));
    lines(std::iter::once(case.order.question.clone()).chain(suspected))
}

fn lines(all: impl Iterator<Item = String>) -> String {
    all.filter(|line| !line.trim().is_empty()).collect::<Vec<_>>().join("; ")
}
