//! How fat a horse is, scored by hands: the whole horse or six sites, and the crest of its neck. Shown with its weights.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    Card, measure,
    store::{self, condition::Score},
    weights::WeightsPage,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clock::Day,
    ids::HorseId,
    practice,
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

/// The six sites of the body score.
pub(super) const SITES: [(&str, &str); 6] = [
    ("site_neck", "Neck"),
    ("site_withers", "Withers"),
    ("site_shoulder", "Behind the shoulder"),
    ("site_ribs", "Ribs"),
    ("site_loin", "Loin"),
    ("site_tail", "Tailhead"),
];
const SIX: f64 = 6.0;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct ConditionForm {
    submission: String,
    pub(super) bcs: String,
    pub(super) site_neck: String,
    pub(super) site_withers: String,
    pub(super) site_shoulder: String,
    pub(super) site_ribs: String,
    pub(super) site_loin: String,
    pub(super) site_tail: String,
    pub(super) crest: String,
    pub(super) scored_on: String,
}

impl ConditionForm {
    pub(super) fn fresh(today: Day) -> Self {
        ConditionForm { scored_on: today.words(), ..Self::default() }
    }

    /// The sites as typed, in the order of [`SITES`].
    pub(super) fn sites(&self) -> [&str; 6] {
        [
            &self.site_neck,
            &self.site_withers,
            &self.site_shoulder,
            &self.site_ribs,
            &self.site_loin,
            &self.site_tail,
        ]
    }

    fn check(&self, card: &Card, today: Day) -> std::result::Result<Vec<Score>, Errors> {
        let mut c = Check::new();
        let on = c.day("scored_on", &self.scored_on);
        match on {
            Some(day) if day > today => c.errors.add("scored_on", "This day is still to come."),
            Some(day) if measure::before_birth(day, &card.born) => {
                c.errors.add("scored_on", "This day lies before its birth.");
            }
            None if self.scored_on.trim().is_empty() => c.errors.add("scored_on", "Enter the day."),
            _ => {}
        }
        let scored_on = on.unwrap_or(today);
        let mut scores = Vec::new();
        let whole = score(&mut c, "bcs", "bcs", &self.bcs);
        let sites: Vec<f64> = SITES
            .iter()
            .zip(self.sites())
            .filter_map(|((field, _), typed)| score(&mut c, field, "bcs", typed))
            .collect();
        let push = |scores: &mut Vec<Score>, code: &str, score: f64, how: &str| {
            scores.push(Score { code: code.into(), score, how: how.into(), scored_on });
        };
        match (whole, sites.len()) {
            (Some(_), 1..) => c.errors.add("bcs", "Score the whole horse or its sites, not both."),
            (Some(whole), _) => push(&mut scores, "bcs", whole, "whole"),
            (None, 6) => push(&mut scores, "bcs", tenths(sites.iter().sum::<f64>() / SIX), "sites"),
            (None, 1..) if c.errors.is_empty() => {
                c.errors.add("site_neck", "Score all six sites, or the whole horse.");
            }
            _ => {}
        }
        if let Some(crest) = score(&mut c, "crest", "crest", &self.crest) {
            push(&mut scores, "crest", crest, "whole");
        }
        if scores.is_empty() && c.errors.is_empty() {
            c.errors.add("bcs", "Enter a score of the body or of the crest.");
        }
        c.done(scores)
    }
}

fn tenths(number: f64) -> f64 {
    (number * 10.0).round() / 10.0
}

/// A whole or half point of the scale that the vital sign is on.
fn score(c: &mut Check, field: &str, code: &str, typed: &str) -> Option<f64> {
    let row = catalogue().vital(code)?;
    let number = c.number(field, typed, row.possible.min..=row.possible.max, "")?;
    let scale = row.scale.as_deref().and_then(|scale| catalogue().scale(scale));
    if scale.is_some_and(|scale| !scale.allows(number)) {
        c.errors.add(field, "Whole and half points only.");
        return None;
    }
    Some(number)
}

pub(super) async fn add(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<ConditionForm>,
) -> Result<Response> {
    let card = store::card(app.db.read(), id).await?;
    let today = app.clock.now().day(&practice::store::get(app.db.read()).await?.zone);
    let scores = match form.check(&card, today) {
        Ok(scores) => scores,
        Err(errors) => {
            let page = WeightsPage::new(&app, shell, id, None, errors).await?;
            return Ok(invalid(page.with_condition(form)));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    for score in &scores {
        store::condition::add(&mut once.tx, id, score, who.user.id, once.now).await?;
    }
    flash(&mut once.tx, &who.user, "Saved.").await?;
    once.commit(&format!("/horses/{id}/weights#condition")).await
}
