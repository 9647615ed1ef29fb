//! The practice's formulary: the catalogue's rows and its own, each used only once a veterinarian of the practice has
//! confirmed it as it stands; and what its prescriptions and labels say beside the medicine.

mod form;
mod pages;
mod prescribing;
mod row_page;
pub mod store;

use std::collections::HashMap;

use axum::{
    Router,
    routing::{get, post},
};
use serde::{Deserialize, Serialize};
use sqlx::SqlitePool;

pub(crate) use form::days;

use crate::{
    App,
    catalogue::{
        catalogue,
        formulary::{Dose, Food, Group},
    },
    clock::At,
};

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/formulary", get(pages::list))
        .route("/practice/formulary/row", get(row_page::page).post(row_page::change))
        .route("/practice/formulary/confirm", post(row_page::confirm))
        .route("/practice/formulary/retire", post(row_page::retire))
        .route("/practice/prescribing", get(prescribing::page).post(prescribing::change))
        .route("/practice/prescribing/vet", post(prescribing::set_qualification))
}

/// A row as it is kept and confirmed: the dose, and what the checks must know of the medicine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Row {
    pub dose: Dose,
    pub name: String,
    pub group: Group,
    pub controlled: bool,
    pub food: Food,
}

/// Who said what about a row, and when.
#[derive(Debug, Clone)]
pub struct Word {
    pub by: String,
    pub at: At,
    /// Why it was changed, or the text in which it was read.
    pub text: String,
}

/// A row with what the practice made of it.
#[derive(Debug, Clone)]
pub struct Kept {
    pub row: Row,
    /// Not in use here.
    pub retired: bool,
    /// Changed or made by the practice.
    pub changed: Option<Word>,
    /// How often it was changed and decided about: what a form about it saw.
    pub version: i64,
    /// Holds only for the row as it stands.
    pub confirmed: Option<Word>,
}

impl Kept {
    /// Whether a dose may be reckoned and given by it.
    pub fn is_active(&self) -> bool {
        self.confirmed.is_some() && !self.retired
    }

    pub fn code(&self) -> &str {
        &self.row.dose.code
    }

    /// "flunixin, IV, injection"
    pub fn title(&self) -> String {
        format!("{}, {}, {}", self.row.name, self.row.dose.route(), self.row.dose.form)
    }
}

/// The rows as shipped.
fn shipped() -> Vec<Row> {
    let known = &catalogue().formulary;
    let row = |dose: &Dose| {
        let medicine = known.medicines.get(&dose.medicine)?;
        Some(Row {
            dose: dose.clone(),
            name: medicine.name.clone(),
            group: medicine.group,
            controlled: medicine.controlled,
            food: medicine.food,
        })
    };
    known.doses.iter().filter_map(row).collect()
}

/// A row as shipped, by its code.
pub(crate) fn shipped_row(code: &str) -> Option<Row> {
    shipped().into_iter().find(|row| row.dose.code == code)
}

/// Every row with what the practice made of it, by the name of the medicine.
pub async fn rows(db: &SqlitePool) -> anyhow::Result<Vec<Kept>> {
    let mut rows: Vec<Row> = shipped();
    let mut changes: HashMap<String, store::Change> = HashMap::new();
    for change in store::latest_changes(db).await? {
        if let Some(json) = &change.row {
            let row: Row = serde_json::from_str(json)?;
            match rows.iter_mut().find(|known| known.dose.code == row.dose.code) {
                Some(known) => *known = row,
                None => rows.push(row),
            }
        }
        changes.insert(change.code.clone(), change);
    }
    let words: HashMap<String, store::Confirmation> =
        store::latest_confirmations(db).await?.into_iter().map(|one| (one.code.clone(), one)).collect();
    let mut kept = Vec::with_capacity(rows.len());
    for row in rows {
        let change = changes.get(&row.dose.code);
        let decided = words.get(&row.dose.code);
        let said = decided.filter(|one| one.confirmed);
        let holds = |one: &&store::Confirmation| {
            serde_json::from_str::<Row>(&one.row).is_ok_and(|as_read| as_read == row)
        };
        kept.push(Kept {
            retired: change.is_some_and(|change| change.retired),
            changed: change.map(store::Change::word),
            version: change.map_or(0, |change| change.count) + decided.map_or(0, |one| one.count),
            confirmed: said.filter(holds).map(store::Confirmation::word),
            row,
        });
    }
    kept.sort_by(|a, b| (&a.row.name, &a.row.dose.code).cmp(&(&b.row.name, &b.row.dose.code)));
    Ok(kept)
}

/// One row by its code.
pub async fn row(db: &SqlitePool, code: &str) -> anyhow::Result<Option<Kept>> {
    Ok(rows(db).await?.into_iter().find(|kept| kept.code() == code))
}

/// A row as JSON, as it is kept and confirmed.
pub fn json(row: &Row) -> anyhow::Result<String> {
    Ok(serde_json::to_string(row)?)
}
