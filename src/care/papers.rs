//! A prescription and a label, to be printed: the fields that the practice's jurisdiction asks for, and what is missing.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State as FromApp;
use sqlx::SqlitePool;

use super::scene::Scene;
use crate::{
    App, accounts,
    accounts::{Can, act},
    catalogue::{care::Paper, catalogue},
    clients,
    clock::Day,
    formulary, horses,
    ids::{EntryId, VisitId},
    papers::dosed::amount,
    record::{Dosed, How},
    web::{Error, Path, Result, Shell},
};

/// A line of the paper: what it says and for what.
struct Line {
    label: &'static str,
    words: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "care/paper.html")]
pub(super) struct PaperPage {
    shell: Shell,
    title: &'static str,
    visit_id: VisitId,
    lines: Vec<Line>,
    /// Fields that are needed and empty.
    missing: Vec<&'static str>,
    sentences: Vec<String>,
    source: String,
    /// Room for a signature.
    signs: bool,
}

pub(super) async fn label(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
) -> Result<PaperPage> {
    paper(&app, shell, (id, entry), "label").await
}

pub(super) async fn prescription(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
) -> Result<PaperPage> {
    paper(&app, shell, (id, entry), "prescription").await
}

/// What the lines are made of.
struct Facts {
    scene: Scene,
    dosed: Dosed,
    vet: String,
    qualification: String,
    client: String,
    client_address: String,
    identity: String,
    premises: String,
}

async fn paper(app: &App, shell: Shell, (id, entry): (VisitId, EntryId), kind: &str) -> Result<PaperPage> {
    let facts = facts(app, id, entry).await?;
    let place = facts.scene.prescribing.jurisdiction.clone();
    let row = catalogue().care.paper(kind, &place).ok_or(Error::NotFound)?;
    let mut lines: Vec<Line> = row.fields.iter().filter_map(|field| facts.line(field)).collect();
    if kind == "prescription" {
        lines.extend(facts.valid());
    }
    let mut missing: Vec<&str> =
        lines.iter().filter(|line| line.words.is_empty()).map(|line| line.label).collect();
    if place.is_empty() {
        missing.push("whose rules hold here");
    }
    lines.retain(|line| !line.words.is_empty());
    Ok(PaperPage {
        title: if kind == "label" { "Label" } else { "Prescription" },
        visit_id: id,
        lines,
        missing,
        sentences: facts.sentences(row),
        source: format!("{}, {}", row.source, row.confidence.words()),
        signs: row.fields.iter().any(|field| field == "signature"),
        shell,
    })
}

async fn facts(app: &App, id: VisitId, entry: EntryId) -> Result<Facts> {
    let db = app.db.read();
    let scene = Scene::load(app, id, None).await?;
    let found = scene.here().into_iter().find(|(one, _)| one.id == entry);
    let (by, dosed) = match found {
        Some((entry, body)) => (entry.seen_by, body.dosed.as_deref().cloned()),
        None => return Err(Error::NotFound),
    };
    let dosed = dosed.filter(|dosed| dosed.how != How::Administered).ok_or(Error::NotFound)?;
    let (details, _) = horses::store::details(db, scene.card.id).await?;
    let (client, client_address) = owner(db, &scene).await?;
    let identity = [
        scene.card.line(scene.today),
        details.breed.clone(),
        labelled("microchip", &details.microchip),
        labelled("UELN", &details.ueln),
    ];
    let identity = identity.into_iter().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ");
    Ok(Facts {
        vet: accounts::store::name_of(&scene.staff, by),
        qualification: formulary::store::qualification(db, by).await?,
        client,
        client_address,
        identity: format!("{} (horse), {identity}", scene.card.name),
        premises: scene.card.yard.clone().unwrap_or_default(),
        dosed,
        scene,
    })
}

fn labelled(label: &str, words: &str) -> String {
    if words.is_empty() { String::new() } else { format!("{label} {words}") }
}

/// The first owner, with the address.
async fn owner(db: &SqlitePool, scene: &Scene) -> Result<(String, String)> {
    let parties = horses::store::parties(db, scene.card.id).await?;
    let Some(owner) = parties.first() else { return Ok(Default::default()) };
    let addresses = clients::store::addresses(db, owner.client_id).await?;
    let address = addresses.into_iter().next().map(|address| address.lines).unwrap_or_default();
    Ok((owner.name.clone(), address))
}

impl Facts {
    fn day(&self) -> Day {
        self.dosed.at.day(&self.scene.practice.zone)
    }

    /// A field of the paper; none for what is no line of its own.
    fn line(&self, field: &str) -> Option<Line> {
        let (stands, dosed) = (&self.scene.prescribing, &self.dosed);
        let (label, words) = match field {
            "vet" => ("Veterinarian", self.vet.clone()),
            "qualification" => ("Qualification", self.qualification.clone()),
            "practice" => ("Practice", self.scene.practice.name.clone()),
            "address" => ("Address", stands.address.clone()),
            "phone" => ("Telephone", stands.phone.clone()),
            "date" => ("Date", self.day().words()),
            "client" => ("Owner or keeper", self.client.clone()),
            "client_address" => ("Their address", self.client_address.clone()),
            "horse" => ("Animal", self.identity.clone()),
            "premises" => ("Kept at", self.premises.clone()),
            "medicine" => ("Medicine", self.medicine()),
            "directions" => ("Directions", self.directions()),
            "expiry" => ("Batch and expiry", self.expiry()),
            "cautions" => ("Cautions", self.cautions()),
            "withdrawal" => ("Withdrawal", self.withdrawal()),
            "repeats" => ("Repeats", dosed.repeats.map_or_else(|| "none".to_owned(), |n| n.to_string())),
            _ => return None,
        };
        Some(Line { label, words })
    }

    fn medicine(&self) -> String {
        let dosed = &self.dosed;
        let strength = dosed.mg_per_ml.map_or_else(String::new, |n| format!(", {n} mg/ml"));
        format!("{}, {}{strength}; {}", dosed.name, dosed.form, dosed.quantity.clone().unwrap_or_default())
    }

    fn directions(&self) -> String {
        let said = self.dosed.directions.clone().unwrap_or_default();
        format!("{said} ({}, {})", self.dosed.route, amount(&self.dosed))
    }

    fn expiry(&self) -> String {
        let parts = [self.dosed.batch.clone(), self.dosed.expires.clone()];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }

    fn cautions(&self) -> String {
        let row = self.scene.row(&self.dosed.row);
        row.map(|kept| kept.row.dose.text.clone())
            .filter(|text| !text.is_empty())
            .unwrap_or_else(|| "As on the label.".to_owned())
    }

    fn withdrawal(&self) -> String {
        match (self.dosed.withdrawal_days, self.scene.card.food_chain.as_str()) {
            (Some(days), _) => format!("{days} days until slaughter"),
            (None, "excluded") => "Not for human consumption: signed out of the food chain".to_owned(),
            (None, _) => String::new(),
        }
    }

    /// Until when the prescription is good, where that is known.
    fn valid(&self) -> Option<Line> {
        let place = catalogue().care.jurisdiction(&self.scene.prescribing.jurisdiction)?;
        let days = if self.dosed.controlled { place.valid_controlled_days } else { place.valid_days }?;
        Some(Line { label: "Good until", words: self.day().plus_days(days).words() })
    }

    fn sentences(&self, row: &Paper) -> Vec<String> {
        let cascade = row.cascade.iter().filter(|_| self.dosed.off_label);
        row.sentences.iter().chain(cascade).cloned().collect()
    }
}
