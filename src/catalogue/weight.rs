//! How a weight is come by (`data/weight.toml`): methods, the better first, and formulas with what they want measured.

use serde::Deserialize;

use super::{CatalogueError, Confidence, Row, Table, check::require, files::Reader, row::rows};

const FILE: &str = "weight.toml";

/// What is known about weighing.
#[derive(Debug, Default)]
pub struct Weighing {
    pub numbers: Table<Number>,
    /// The better before the poorer.
    pub methods: Table<Method>,
    pub lengths: Vec<Length>,
    pub formulas: Table<Formula>,
    pub ideals: Table<Ideal>,
}

/// A single number with its reason.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    pub code: String,
    pub is: f64,
    pub text: String,
    pub source: String,
    pub confidence: Confidence,
}

/// A way to come by a weight.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Method {
    pub code: String,
    pub name: String,
    /// Where and how to measure.
    pub text: String,
    pub error: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How a length is measured.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Length {
    pub code: String,
    pub name: String,
}

/// Girth, length, height and neck raised to powers, over a divisor: kg out of cm, or pounds out of inches.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Formula {
    pub code: String,
    pub name: String,
    /// Code of a [`Length`].
    pub length: String,
    #[serde(default)]
    pub inches: bool,
    pub girth_power: f64,
    pub length_power: f64,
    /// Height at the withers; 0 where it is not asked for.
    #[serde(default)]
    pub height_power: f64,
    /// Round the neck, midway between poll and withers; 0 where it is not asked for.
    #[serde(default)]
    pub neck_power: f64,
    pub divisor: f64,
    pub error: String,
    /// Why it is not to be used.
    pub refused: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// The weight that goes with a frame: kg = `per_length` x length + `per_height` x height - `less`, in cm.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ideal {
    pub code: String,
    pub name: String,
    pub length: String,
    pub per_length: f64,
    pub per_height: f64,
    pub less: f64,
    pub error: String,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Number, Method, Formula, Ideal);

impl Formula {
    /// Whether it asks for height and neck, too.
    pub fn asks_four(&self) -> bool {
        self.height_power > 0.0 || self.neck_power > 0.0
    }
}

impl Weighing {
    pub(super) fn read(text: &str) -> Result<Self, CatalogueError> {
        let mut reader = Reader::new(FILE, text)?;
        let read = Self {
            numbers: reader.table("number")?,
            methods: reader.table("method")?,
            lengths: reader.rows("length")?,
            formulas: reader.table("formula")?,
            ideals: reader.table("ideal")?,
        };
        reader.end()?;
        for row in &read.formulas {
            require(row.divisor > 0.0, FILE, row.code(), "has no divisor")?;
            require(
                read.length(&row.length).is_some(),
                FILE,
                row.code(),
                "measures a length that is not listed",
            )?;
        }
        for row in &read.ideals {
            require(
                read.length(&row.length).is_some(),
                FILE,
                row.code(),
                "measures a length that is not listed",
            )?;
        }
        for code in ["dose_weight_days", "condition_at_risk", "crest_at_risk"] {
            require(read.numbers.get(code).is_some(), FILE, code, "is missing")?;
        }
        Ok(read)
    }

    /// How a length is measured, in words.
    pub fn length(&self, code: &str) -> Option<&Length> {
        self.lengths.iter().find(|row| row.code == code)
    }

    /// A number of the file; the file is refused without those that are asked for.
    pub fn number(&self, code: &str) -> f64 {
        self.numbers.get(code).map_or(0.0, |row| row.is)
    }

    /// The place of a method in the order of trust; one that is not listed comes last.
    pub fn rank(&self, method: &str) -> usize {
        self.methods.iter().position(|row| row.code == method).unwrap_or(self.methods.len())
    }
}
