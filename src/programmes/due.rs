//! Where each horse is on its way today: for the day, the horse and its history.

use super::{
    scene::{Way, exercise_of, open_signs},
    store::{self, Kept},
};
use crate::{
    App,
    clock::Day,
    ids::{HorseId, ProgrammeId},
    record,
    web::Result,
};

/// One programme on a day.
#[derive(Debug, Clone)]
pub struct Now {
    pub id: ProgrammeId,
    pub horse_id: HorseId,
    pub horse: String,
    pub name: String,
    /// What is done today.
    pub today: String,
    /// The next gate, in words, and its day.
    pub gate: Option<(String, Day)>,
    /// The yard told a sign that nobody has decided on.
    pub told: bool,
    pub ended: bool,
}

impl Now {
    /// "gate due today", "gate due 12 Mar 2026"
    pub fn gate_line(&self, today: &Day) -> String {
        match &self.gate {
            Some((words, day)) if day <= today => format!("{words}, due today"),
            Some((words, day)) => format!("{words}, due {}", day.words()),
            None => String::new(),
        }
    }
}

/// The programmes of a horse, the newest first.
pub async fn of_horse(app: &App, horse: HorseId, today: Day) -> Result<Vec<Now>> {
    let kept = store::of_horse(app.db.read(), horse).await?;
    now(app, kept, today).await
}

/// Programmes that a veterinarian has to look at: a gate is due, or the yard told a sign.
pub async fn waiting(app: &App, today: Day) -> Result<Vec<Now>> {
    let kept = store::running(app.db.read()).await?;
    let mut found = now(app, kept, today).await?;
    found.retain(|one| one.told || one.gate.as_ref().is_some_and(|(_, day)| *day <= today));
    Ok(found)
}

async fn now(app: &App, kept: Vec<Kept>, today: Day) -> Result<Vec<Now>> {
    let mut found = Vec::new();
    for row in kept {
        let (standing, _) = record::results_of_programme(app.db.read(), row.id).await?;
        let told = standing.iter().filter_map(|entry| Some((entry.id, exercise_of(entry)?)));
        let Some(way) = Way::read(told, today) else { continue };
        let ended = row.ended_at.is_some();
        found.push(Now {
            id: row.id,
            horse_id: row.horse_id,
            horse: row.horse,
            today: way.today_words(today),
            gate: way.gate().filter(|_| !ended).map(|(step, day)| (Way::gate_words(step), day)),
            told: !ended && !open_signs(&standing).is_empty(),
            name: way.prescribed.name,
            ended,
        });
    }
    Ok(found)
}
