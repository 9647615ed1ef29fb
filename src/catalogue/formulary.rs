//! Medicines and their doses (`data/formulary.toml`). A row is a reference until a veterinarian of a practice has
//! confirmed it; a practice's own rows have the same shape.

use serde::{Deserialize, Serialize};

use super::{CatalogueError, Confidence, Row, Table, check::require, files::Reader, row::rows};

const FILE: &str = "formulary.toml";

#[derive(Debug, Default)]
pub struct Formulary {
    pub medicines: Table<Medicine>,
    pub doses: Table<Dose>,
}

/// What kind of medicine it is, as far as a check asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    Nsaid,
    Steroid,
    Alpha2,
    Tranquilliser,
    Opioid,
    Reversal,
    Local,
    Joint,
    Other,
}

impl Group {
    /// Whether a gait after it stands as sedated.
    pub fn sedates(self) -> bool {
        matches!(self, Group::Alpha2 | Group::Tranquilliser | Group::Opioid)
    }
}

/// May a horse that could be eaten be given it?
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Food {
    /// Never while the horse is not signed out of the food chain.
    Prohibited,
    /// An essential substance: six months and an entry in the passport.
    Essential,
    /// The label excludes horses for food.
    Label,
    /// The label has a withdrawal time.
    Withdrawal,
}

/// A medicine by its generic name.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Medicine {
    pub code: String,
    pub name: String,
    pub group: Group,
    /// Its stock is counted.
    #[serde(default)]
    pub controlled: bool,
    pub food: Food,
    pub source: String,
    pub confidence: Confidence,
}

/// What the amounts of a row are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Milligrams for each kilogram of the horse.
    MgPerKg,
    /// Milligrams, whatever the horse weighs.
    Mg,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Per {
    Dose,
    /// All doses of a day together.
    Day,
}

/// How much of a medicine, by one route in one form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dose {
    pub code: String,
    /// Code of a [`Medicine`], or the name of one that the practice added.
    pub medicine: String,
    /// By which names it is found; the first is the usual one.
    pub routes: Vec<String>,
    pub form: String,
    /// Where it is labelled so.
    pub jurisdiction: String,
    pub basis: Basis,
    pub per: Per,
    pub low: f64,
    pub high: f64,
    /// Hours from dose to dose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every_h: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_days: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_mg_per_day: Option<f64>,
    /// For which weights it is labelled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub min_kg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_kg: Option<f64>,
    /// Strengths it is sold in; none for pastes and tablets.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mg_per_ml: Vec<f64>,
    /// As the label has it; otherwise off the label everywhere.
    pub label: bool,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Medicine, Dose);

impl Dose {
    pub fn route(&self) -> &str {
        self.routes.first().map_or("", String::as_str)
    }

    /// "2.2 to 4.4 mg/kg a day"
    pub fn amount(&self) -> String {
        let unit = if self.basis == Basis::MgPerKg { "mg/kg" } else { "mg" };
        let amount = if self.is_single() {
            format!("{} {unit}", self.low)
        } else {
            format!("{} to {} {unit}", self.low, self.high)
        };
        let often = match (self.per, self.every_h) {
            (Per::Day, _) => " a day, all doses together".to_owned(),
            (Per::Dose, Some(h)) => format!(" every {h} h"),
            (Per::Dose, None) => " once".to_owned(),
        };
        format!("{amount}{often}")
    }

    /// The row names one amount, not a range.
    pub fn is_single(&self) -> bool {
        (self.high - self.low).abs() < f64::EPSILON
    }

    /// What cannot be a row; `None` when it makes sense.
    pub fn fault(&self) -> Option<&'static str> {
        let sound = |n: f64| n.is_finite() && n > 0.0;
        if !sound(self.low) || !sound(self.high) || self.low > self.high {
            return Some("has no amount, or one that runs backwards");
        }
        if self.routes.is_empty() || self.routes.iter().any(|route| route.trim().is_empty()) {
            return Some("has no route");
        }
        let numbers = [self.every_h, self.max_mg_per_day, self.min_kg, self.max_kg];
        let positive = numbers.into_iter().flatten().chain(self.mg_per_ml.iter().copied()).all(sound);
        (!positive || self.max_days == Some(0)).then_some("has a number that is not more than 0")
    }
}

impl Formulary {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self { medicines: reader.table("medicine")?, doses: reader.table("dose")? };
        reader.end()?;
        for row in &read.doses {
            require(
                read.medicines.get(&row.medicine).is_some(),
                FILE,
                row.code(),
                "names a medicine that is not listed",
            )?;
            if let Some(fault) = row.fault() {
                return Err(CatalogueError::row(FILE, row.code(), fault));
            }
        }
        Ok(read)
    }
}
