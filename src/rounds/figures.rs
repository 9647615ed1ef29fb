//! Setting a number of the roads of the practice's own, and going back to the shipped one. Each change is kept with who,
//! when and why.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{roads::RoadsPage, store};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{catalogue, road::RoadFigure},
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

/// As typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct FigureForm {
    pub submission: String,
    pub code: String,
    pub version: String,
    pub value: String,
    pub reason: String,
}

impl FigureForm {
    /// Empty means back to the shipped value.
    fn check(&self, row: &RoadFigure) -> std::result::Result<(Option<f64>, String), Errors> {
        let mut check = Check::new();
        let value = check.number("value", &self.value, row.least..=row.most, &row.unit);
        let reason = check.needed_words("reason", &self.reason, 500, "Write why; it stays beside the value.");
        check.done((value, reason))
    }
}

pub(super) async fn set(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<FigureForm>,
) -> Result<Response> {
    let row = catalogue().road.figures.get(&form.code).ok_or(Error::NotFound)?;
    let (value, reason) = match form.check(row) {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(RoadsPage::new(&app, shell, errors).await?.open(form))),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let stands = store::figures(&mut *once.tx).await?.into_iter().find(|set| set.code == row.code);
    let version = stands.as_ref().map_or(0, |set| set.version);
    let shown = |value: Option<f64>| value.map_or_else(|| "as shipped".to_owned(), |value| row.shown(value));
    if form.version.parse() != Ok(version) {
        let (theirs, why) = stands.map_or_else(Default::default, |set| (shown(set.value), set.reason));
        let back = format!("/practice/road?figure={}", row.code);
        let clash = Conflict { what: row.name.clone(), back, ..Conflict::default() }
            .field("Value", &form.value, &theirs)
            .field("Why", &form.reason, &why);
        return Err(Error::Conflict(Box::new(clash)));
    }
    let set = store::Set {
        code: row.code.clone(),
        version: version + 1,
        value,
        reason,
        by: String::new(),
        at: once.now,
    };
    store::set_figure(&mut once.tx, &set, user.id).await?;
    flash(&mut once.tx, &user, &format!("{}: {} from now on.", row.name, shown(value))).await?;
    once.commit("/practice/road").await
}
