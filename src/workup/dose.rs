//! How much local anaesthetic went in at this visit, against the ceiling for this horse's weight.

use super::course::Shot;
use crate::catalogue::{Row, localise::Localising};

/// The sum over all blocks of the visit, all sites.
#[derive(Debug, Clone)]
pub struct Total {
    pub mg: f64,
    /// For this horse's weight; none while nobody knows it.
    pub ceiling_mg: Option<f64>,
    pub per_kg: f64,
    /// Blocks whose volume was not said.
    pub unknown: usize,
    pub source: String,
    pub confidence: String,
}

impl Total {
    pub fn of(shots: &[Shot], kg: Option<f64>, rows: &Localising) -> Self {
        let row = rows.numbers.get("dose_mg_per_kg");
        let per_kg = row.map_or(0.0, |row| row.is);
        Total {
            mg: shots.iter().filter_map(Shot::mg).sum(),
            ceiling_mg: kg.map(|kg| kg * per_kg),
            per_kg,
            unknown: shots.iter().filter(|shot| shot.mg().is_none()).count(),
            source: row.map(|row| row.source().to_owned()).unwrap_or_default(),
            confidence: row.map(|row| row.confidence().words()).unwrap_or_default(),
        }
    }

    /// In hundredths of the ceiling.
    pub fn percent(&self) -> Option<f64> {
        self.ceiling_mg.filter(|most| *most > 0.0).map(|most| (self.mg / most * 100.0).round())
    }

    pub fn is_over(&self) -> bool {
        self.ceiling_mg.is_some_and(|most| self.mg > most)
    }

    /// "60 mg of 2600 mg (5 mg a kg): 2 %"
    pub fn words(&self) -> String {
        match (self.ceiling_mg, self.percent()) {
            (Some(most), Some(percent)) => {
                format!("{:.0} mg of {most:.0} mg ({} mg a kg): {percent} %", self.mg, self.per_kg)
            }
            _ => format!(
                "{:.0} mg; the ceiling is {} mg a kg, and nobody weighed this horse",
                self.mg, self.per_kg
            ),
        }
    }
}
