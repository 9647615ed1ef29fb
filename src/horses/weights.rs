//! What a horse weighed, as a table and as a small line.

use std::fmt::Write;

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    Card, measure,
    store::{self, Weight},
};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    ids::HorseId,
    practice,
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const METHODS: [(&str, &str); 3] = [("scale", "scale"), ("tape", "weight tape"), ("estimate", "estimate")];

/// The weights as a drawn line, oldest to the left.
pub(super) struct Line {
    /// The `points` of a polyline in a box of [`WIDTH`] by [`HEIGHT`].
    pub(super) points: String,
    pub(super) dots: Vec<(String, String)>,
    /// The same in words.
    pub(super) says: String,
}

const WIDTH: f64 = 300.0;
const HEIGHT: f64 = 60.0;
const EDGE: f64 = 6.0;

impl Line {
    /// `newest_first` as the store gives them; fewer than two make no line.
    pub(super) fn of(newest_first: &[Weight], unit: &str) -> Option<Line> {
        let (newest, oldest) = (newest_first.first()?, newest_first.last()?);
        if newest_first.len() < 2 {
            return None;
        }
        let kgs = || newest_first.iter().map(|w| w.kg);
        let (least, most) = (kgs().fold(f64::MAX, f64::min), kgs().fold(f64::MIN, f64::max));
        let days = to_f64(oldest.weighed_on.days_until(newest.weighed_on)).max(1.0);
        let mut line = Line { points: String::new(), dots: Vec::new(), says: String::new() };
        for weight in newest_first.iter().rev() {
            let along = to_f64(oldest.weighed_on.days_until(weight.weighed_on)) / days;
            let up = if most - least < 1.0 { 0.5 } else { (weight.kg - least) / (most - least) };
            let x = format!("{:.1}", EDGE + along * (WIDTH - 2.0 * EDGE));
            let y = format!("{:.1}", HEIGHT - EDGE - up * (HEIGHT - 2.0 * EDGE));
            let _ = write!(line.points, "{x},{y} ");
            line.dots.push((x, y));
        }
        line.says = format!(
            "Weight from {} on {} to {} on {}, between {} and {}.",
            measure::weight_words(oldest.kg, unit),
            oldest.weighed_on.words(),
            measure::weight_words(newest.kg, unit),
            newest.weighed_on.words(),
            measure::weight_words(least, unit),
            measure::weight_words(most, unit),
        );
        Some(line)
    }
}

/// Days between two weights: far below where a float would round.
fn to_f64(days: i64) -> f64 {
    i32::try_from(days).map_or(0.0, f64::from)
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct WeightForm {
    submission: String,
    weight: String,
    method: String,
    weighed_on: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "horses/weights.html")]
pub(super) struct WeightsPage {
    shell: Shell,
    card: Card,
    today: Day,
    unit: String,
    weights: Vec<Weight>,
    line: Option<Line>,
    form: WeightForm,
    errors: Errors,
}

impl WeightsPage {
    async fn new(
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
        let line = Line::of(&weights, &practice.weight_unit);
        let form = form.unwrap_or_else(|| WeightForm { weighed_on: today.words(), ..WeightForm::default() });
        Ok(WeightsPage { shell, card, today, unit: practice.weight_unit, weights, line, form, errors })
    }

    fn methods(&self) -> [(&'static str, &'static str); 3] {
        METHODS
    }

    fn weight(&self, kg: &f64) -> String {
        measure::weight_words(*kg, &self.unit)
    }
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
        let kg = measure::weight(&mut c, "weight", &self.weight, unit);
        let known = METHODS.iter().any(|(key, _)| *key == self.method);
        if !known {
            c.errors.add("method", "Choose how it was weighed.");
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
        let weight =
            Weight { kg: kg.unwrap_or(0.0), method: self.method.clone(), weighed_on: on.unwrap_or(today) };
        c.done(weight)
    }
}
