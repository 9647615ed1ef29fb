//! What a horse weighed, which of its weights a dose is reckoned with and why, and its condition.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    Card,
    chart::Line,
    condition::{ConditionForm, SITES},
    measure,
    store::{self, Weight, condition::Score},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{catalogue, weight::Formula},
    clock::Day,
    ids::HorseId,
    practice,
    reasoning::weight::{self, Measures, Weighed},
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

/// The weight that a dose is reckoned with, with what speaks for it and against it.
#[derive(Debug, Clone)]
pub struct Dosing {
    pub kg: f64,
    pub method: String,
    pub on: Day,
    pub doubts: Vec<String>,
    /// Why it and not a newer or a better one; empty where there is no such one.
    pub why: String,
}

/// Which of the weights, the newest first, a dose is reckoned with today.
pub fn dosing(weights: &[Weight], today: Day, unit: &str) -> Option<Dosing> {
    let all: Vec<Weighed<'_>> = weights
        .iter()
        .map(|w| Weighed { age_days: w.weighed_on.days_until(today), method: &w.method })
        .collect();
    let place = weight::used(&all)?;
    let used = weights.get(place)?;
    let (newest, rank) = (weights.first()?, |w: &Weight| catalogue().weighing.rank(&w.method));
    let better = weights.iter().find(|w| rank(w) < rank(used));
    let told = |w: &Weight| {
        format!(
            "{} ({}, {})",
            measure::weight_words(w.kg, unit),
            method_name(&w.method),
            w.weighed_on.words()
        )
    };
    let why = if place > 0 {
        format!(
            "Used before the newer {}, because it is the better method and at most {} days older.",
            told(newest),
            weight::limit_days()
        )
    } else if let Some(better) = better {
        format!(
            "Used although {} is the better method: that is more than {} days older.",
            told(better),
            weight::limit_days()
        )
    } else {
        String::new()
    };
    let doubts = all.get(place).map(weight::doubts).unwrap_or_default();
    Some(Dosing {
        kg: used.kg,
        method: method_name(&used.method).to_owned(),
        on: used.weighed_on,
        doubts,
        why,
    })
}

/// A method in words; one that is not listed as it was kept.
fn method_name(code: &str) -> &str {
    catalogue().weighing.methods.get(code).map_or(code, |row| row.name.as_str())
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct WeightForm {
    submission: String,
    weight: String,
    method: String,
    weighed_on: String,
    formula: String,
    girth: String,
    length: String,
    height: String,
    neck: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "horses/weights.html")]
pub(super) struct WeightsPage {
    shell: Shell,
    card: Card,
    today: Day,
    unit: String,
    weights: Vec<Weight>,
    dosing: Option<Dosing>,
    line: Option<Line>,
    scores: Vec<Score>,
    body_line: Option<Line>,
    crest_line: Option<Line>,
    form: WeightForm,
    condition: ConditionForm,
    errors: Errors,
}

impl WeightsPage {
    pub(super) async fn new(
        app: &App,
        shell: Shell,
        id: HorseId,
        form: Option<WeightForm>,
        errors: Errors,
    ) -> Result<Self> {
        let db = app.db.read();
        let card = store::card(db, id).await?;
        let practice = practice::store::get(db).await?;
        let today = app.clock.now().day(&practice.zone);
        let weights = store::weights(db, id).await?;
        let scores = store::condition::scores(db, id).await?;
        let form = form.unwrap_or_else(|| WeightForm { weighed_on: today.words(), ..WeightForm::default() });
        Ok(WeightsPage {
            dosing: dosing(&weights, today, &practice.weight_unit),
            line: Line::of(&weights, &practice.weight_unit),
            body_line: scored(&scores, "bcs", "Body condition"),
            crest_line: scored(&scores, "crest", "Crest"),
            condition: ConditionForm::fresh(today),
            unit: practice.weight_unit,
            shell,
            card,
            today,
            weights,
            scores,
            form,
            errors,
        })
    }

    /// The same page with a score as it was typed.
    pub(super) fn with_condition(self, condition: ConditionForm) -> Self {
        WeightsPage { condition, ..self }
    }

    fn methods(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().weighing.methods.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn formulas(&self) -> Vec<(&'static str, String)> {
        usable().map(|row| (row.code.as_str(), format!("{} ({})", row.name, row.source))).collect()
    }

    /// How the length is measured for each formula, and how far off each is.
    fn told(&self) -> Vec<String> {
        let methods = catalogue().weighing.methods.iter().map(|row| {
            format!(
                "{}: {} Error: {}. {}, {}",
                row.name,
                row.text,
                row.error,
                row.source,
                row.confidence.words()
            )
        });
        let formulas = usable().map(|row| {
            let length = catalogue().weighing.length(&row.length).map_or("", |length| length.name.as_str());
            let four = if row.asks_four() { "; height and neck, too" } else { "" };
            format!(
                "{}: length from {length}{four}. Error: {}. {}, {}",
                row.name,
                row.error,
                row.source,
                row.confidence.words()
            )
        });
        methods.chain(formulas).collect()
    }

    /// The weight that would go with the frame that was measured last: shown beside, never dosed by.
    fn ideal(&self) -> Vec<String> {
        let measures = self.weights.iter().find_map(|w| measured(w.measures.as_deref()?));
        let Some(measures) = measures else { return Vec::new() };
        let rows = catalogue().weighing.ideals.iter();
        rows.filter_map(|row| {
            let kg = weight::ideal(&row.code, &measures).ok()?;
            let kg = measure::weight_words(kg.round(), &self.unit);
            Some(format!(
                "{kg} would go with this frame in a {} (within {}; {})",
                row.name, row.error, row.source
            ))
        })
        .collect()
    }

    fn sites(&self) -> Vec<(&'static str, &'static str, String)> {
        SITES
            .iter()
            .zip(self.condition.sites())
            .map(|((field, label), typed)| (*field, *label, typed.to_owned()))
            .collect()
    }

    fn sites_open(&self) -> bool {
        SITES.iter().any(|(field, _)| self.errors.on(field).is_some())
            || self.condition.sites().iter().any(|typed| !typed.is_empty())
    }

    fn method(&self, weight: &Weight) -> String {
        let name = method_name(&weight.method);
        let row = weight.formula.as_deref().and_then(|code| catalogue().weighing.formulas.get(code));
        row.map_or_else(|| name.to_owned(), |row| format!("{name}: {} (error {})", row.name, row.error))
    }

    /// "12 days"
    fn age(&self, on: &Day) -> String {
        match on.days_until(self.today) {
            0 => "today".to_owned(),
            1 => "1 day".to_owned(),
            days => format!("{days} days"),
        }
    }

    fn weight(&self, kg: &f64) -> String {
        measure::weight_words(*kg, &self.unit)
    }

    fn score(&self, one: &Score) -> String {
        let of = if one.code == "crest" { 5 } else { 9 };
        let how = if one.how == "sites" { ", mean of six sites" } else { "" };
        let name = if one.code == "crest" { "crest of the neck" } else { "body" };
        format!("{name} {} of {of}{how}", one.score)
    }
}

fn scored(scores: &[Score], code: &str, what: &str) -> Option<Line> {
    let points: Vec<(Day, f64)> =
        scores.iter().filter(|one| one.code == code).map(|one| (one.scored_on, one.score)).collect();
    Line::drawn(&points, what, |score| score.to_string())
}

fn usable() -> impl Iterator<Item = &'static Formula> {
    catalogue().weighing.formulas.iter().filter(|row| row.refused.is_none())
}

/// What was measured, back from how it is kept.
fn measured(json: &str) -> Option<Measures> {
    let kept: serde_json::Value = serde_json::from_str(json).ok()?;
    let cm = |name: &str| kept.get(name).and_then(serde_json::Value::as_f64);
    Some(Measures {
        girth_cm: cm("girth_cm"),
        length_cm: cm("length_cm"),
        height_cm: cm("height_cm"),
        neck_cm: cm("neck_cm"),
    })
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
) -> Result<WeightsPage> {
    WeightsPage::new(&app, shell, id, None, Errors::default()).await
}

pub(super) async fn add(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<WeightForm>,
) -> Result<Response> {
    let card = store::card(app.db.read(), id).await?;
    let practice = practice::store::get(app.db.read()).await?;
    let today = app.clock.now().day(&practice.zone);
    let weight = match form.check(&card, today, &practice.weight_unit) {
        Ok(weight) => weight,
        Err(errors) => return Ok(invalid(WeightsPage::new(&app, shell, id, Some(form), errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::add_weight(&mut once.tx, id, &weight, who.user.id, once.now).await?;
    let kept = measure::weight_words(weight.kg, &practice.weight_unit);
    let doubt =
        if measure::is_usual_weight(weight.kg) { "" } else { " That is unusual for a horse: read it again." };
    flash(&mut once.tx, &who.user, &format!("{} weighs {kept}.{doubt}", card.name)).await?;
    once.commit(&format!("/horses/{id}")).await
}

impl WeightForm {
    fn check(&self, card: &Card, today: Day, unit: &str) -> std::result::Result<Weight, Errors> {
        let mut c = Check::new();
        let reckoned = if self.method == "formula" { self.reckon(&mut c) } else { None };
        let kg = match &reckoned {
            Some((kg, ..)) => Some(*kg),
            None if self.method == "formula" => None,
            None => measure::weight(&mut c, "weight", &self.weight, unit),
        };
        if catalogue().weighing.methods.get(&self.method).is_none() {
            c.errors.add("method", "Choose how it was weighed.");
        }
        if self.method != "formula"
            && ![&self.girth, &self.length, &self.height, &self.neck]
                .iter()
                .all(|typed| typed.trim().is_empty())
        {
            c.errors.add(
                "method",
                "A tape measure is read by a formula: choose it, or leave the measures empty.",
            );
        }
        let on = c.day("weighed_on", &self.weighed_on);
        match on {
            Some(day) if day > today => c.errors.add("weighed_on", "This day is still to come."),
            Some(day) if measure::before_birth(day, &card.born) => {
                c.errors.add("weighed_on", "This day lies before its birth.");
            }
            None if self.weighed_on.trim().is_empty() => {
                c.errors.add("weighed_on", "Enter the day it was weighed.");
            }
            _ => {}
        }
        let (formula, measures) = reckoned.map(|(_, formula, measures)| (formula, measures)).unzip();
        let weight = Weight {
            kg: kg.unwrap_or(0.0),
            method: self.method.clone(),
            weighed_on: on.unwrap_or(today),
            formula,
            measures,
        };
        c.done(weight)
    }

    /// The weight by the formula, its code, and the measures as they are kept.
    fn reckon(&self, c: &mut Check) -> Option<(f64, String, String)> {
        if !self.weight.trim().is_empty() {
            c.errors.add("weight", "Leave this empty: the formula reckons it.");
        }
        let row = usable().find(|row| row.code == self.formula);
        if row.is_none() {
            c.errors.add("formula", "Choose the formula that fits this horse.");
        }
        let mut cm = |field: &str, typed: &str| c.number(field, typed, 20.0..=350.0, "cm");
        let measures = Measures {
            girth_cm: cm("girth", &self.girth),
            length_cm: cm("length", &self.length),
            height_cm: cm("height", &self.height),
            neck_cm: cm("neck", &self.neck),
        };
        let row = row.filter(|_| c.errors.is_empty())?;
        match weight::reckon(row, &measures) {
            Ok(kg)
                if kg.is_finite()
                    && catalogue().vital("weight_kg").is_none_or(|vital| vital.possible.contains(kg)) =>
            {
                let kept = serde_json::json!({
                    "girth_cm": measures.girth_cm, "length_cm": measures.length_cm,
                    "height_cm": measures.height_cm, "neck_cm": measures.neck_cm,
                });
                Some(((kg * 10.0).round() / 10.0, row.code.clone(), kept.to_string()))
            }
            Ok(_) => {
                c.errors.add("girth", "No horse weighs what comes out: read the tape again.");
                None
            }
            Err(refused) => {
                let field = refused.name.trim_end_matches("_cm");
                c.errors.add(field, "This formula needs it, in cm.");
                None
            }
        }
    }
}
