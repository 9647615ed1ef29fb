//! How much local anaesthetic went into this horse in the window of time in which it is summed, at this visit and at
//! others, against the ceiling for its weight.

use super::{course::Shot, scene::Scene};
use crate::{catalogue::Row, clock::At, papers::needle};

/// The sum over all blocks in the window, all sites.
#[derive(Debug, Clone)]
pub struct Total {
    pub mg: f64,
    /// For this horse's weight; none while nobody knows it.
    pub ceiling_mg: Option<f64>,
    pub per_kg: f64,
    pub window_h: f64,
    /// Blocks in the window whose volume was not said.
    pub unknown: usize,
    /// Of them, those of other visits: where each is told, and its words.
    pub elsewhere: Vec<(String, String)>,
    /// Blocks of this visit that lie before the window.
    pub past: usize,
    /// Of the ceiling and of the window, each with how sure one can be of it.
    pub sources: Vec<String>,
}

impl Total {
    pub(super) fn of(scene: &Scene) -> Self {
        let rows = &scene.rows;
        let per_kg = rows.number("dose_mg_per_kg");
        let from: At = scene.window.0;
        let others = || scene.elsewhere.iter().map(|one| &one.shot);
        let counted: Vec<&Shot> = scene.shots.iter().filter(|shot| shot.at >= from).chain(others()).collect();
        let codes = [("ceiling", "dose_mg_per_kg"), ("window", "dose_window_h")];
        let source = |(what, code): (&str, &str)| {
            let row = rows.numbers.get(code)?;
            Some(format!("{what}: {} ({})", row.source(), row.confidence().words()))
        };
        let told = scene.elsewhere.iter().map(|one| {
            let limb = one.shot.limb.map_or("trunk", |limb| limb.name());
            let at = one.shot.at.words(scene.zone());
            (
                format!("/visits/{}/work-up", one.visit),
                format!("{limb}, {at}: {}", needle::block(&one.shot.body)),
            )
        });
        Total {
            // The sum of nothing would be told as -0.
            mg: counted.iter().filter_map(|shot| shot.mg()).fold(0.0, |sum, mg| sum + mg),
            ceiling_mg: scene.card.kg.map(|kg| kg * per_kg),
            per_kg,
            window_h: rows.number("dose_window_h"),
            unknown: counted.iter().filter(|shot| shot.mg().is_none()).count(),
            elsewhere: told.collect(),
            past: scene.shots.iter().filter(|shot| shot.at < from).count(),
            sources: codes.into_iter().filter_map(source).collect(),
        }
    }

    /// In hundredths of the ceiling.
    pub fn percent(&self) -> Option<f64> {
        self.ceiling_mg.filter(|most| *most > 0.0).map(|most| (self.mg / most * 100.0).round())
    }

    pub fn is_over(&self) -> bool {
        self.ceiling_mg.is_some_and(|most| self.mg > most)
    }

    /// "60 mg of 2600 mg (5 mg a kg): 2 %, in 4 h"
    pub fn words(&self) -> String {
        match (self.ceiling_mg, self.percent()) {
            (Some(most), Some(percent)) => format!(
                "{:.0} mg of {most:.0} mg ({} mg a kg): {percent} %, in {} h",
                self.mg, self.per_kg, self.window_h
            ),
            _ => format!(
                "{:.0} mg; the ceiling is {} mg a kg in {} h, and nobody weighed this horse",
                self.mg, self.per_kg, self.window_h
            ),
        }
    }
}
