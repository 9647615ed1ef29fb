//! The page of roads: where the practice stands, and the numbers that days are reckoned with.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{figures::FigureForm, store};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{catalogue, road::RoadFigure},
    clients::yards::degrees,
    practice,
    reasoning::road::Spot,
    web::{Begun, Check, Conflict, Error, Errors, Form, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "rounds/roads.html")]
pub(super) struct RoadsPage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    spot: PlaceForm,
    figure: FigureForm,
    lines: Vec<Line>,
}

/// A figure and what the practice made of it.
struct Line {
    row: &'static RoadFigure,
    set: Option<store::Set>,
}

impl Line {
    fn own(&self) -> Option<f64> {
        self.set.as_ref().and_then(|set| set.value)
    }

    fn shown(&self) -> String {
        self.row.shown(self.own().unwrap_or(self.row.value))
    }

    fn shipped(&self) -> String {
        self.row.shown(self.row.value)
    }

    fn version(&self) -> i64 {
        self.set.as_ref().map_or(0, |set| set.version)
    }
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct PlaceForm {
    submission: String,
    version: String,
    lat: String,
    lon: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Wanted {
    figure: String,
}

impl RoadsPage {
    pub(super) async fn new(app: &App, shell: Shell, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let mut sets = store::figures(db).await?;
        let lines = catalogue().road.figures.iter().map(|row| {
            let at = sets.iter().position(|set| set.code == row.code);
            Line { row, set: at.map(|at| sets.swap_remove(at)) }
        });
        let lines = lines.collect();
        let spot = store::practice_spot(db).await?;
        let spot = spot.map_or_else(
            || PlaceForm { version: "0".into(), ..PlaceForm::default() },
            |(spot, version)| PlaceForm {
                submission: String::new(),
                version: version.to_string(),
                lat: spot.lat.to_string(),
                lon: spot.lon.to_string(),
            },
        );
        let zone = practice::store::get(db).await?.zone;
        Ok(RoadsPage { shell, errors, zone, spot, figure: FigureForm::default(), lines })
    }

    /// With one figure open to be changed.
    pub(super) fn open(mut self, figure: FigureForm) -> Self {
        self.figure = figure;
        self
    }

    pub(super) fn figure_of(&self, code: &str) -> FigureForm {
        let line = self.lines.iter().find(|line| line.row.code == code);
        line.map_or_else(FigureForm::default, |line| FigureForm {
            code: code.to_owned(),
            version: line.version().to_string(),
            value: line.own().unwrap_or(line.row.value).to_string(),
            ..FigureForm::default()
        })
    }

    fn is_open(&self, line: &Line) -> bool {
        self.figure.code == line.row.code
    }
}

pub(super) async fn show(
    _: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Query(wanted): Query<Wanted>,
) -> Result<Response> {
    let page = RoadsPage::new(&app, shell, Errors::default()).await?;
    let figure = page.figure_of(&wanted.figure);
    Ok(page.open(figure).into_response())
}

/// Sets where the practice stands.
pub(super) async fn place(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<PlaceForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let spot = degrees::spot(&mut check, ("lat", &form.lat), ("lon", &form.lon));
    if spot.is_none() && check.errors.is_empty() {
        check.errors.add("lat", "Enter where the practice stands, such as 52.508.");
    }
    let Some((lat, lon)) = spot.filter(|_| check.errors.is_empty()) else {
        let mut page = RoadsPage::new(&app, shell, check.errors).await?;
        page.spot = form;
        return Ok(invalid(page));
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let version = form.version.parse().unwrap_or(-1);
    if store::keep_practice_spot(&mut once.tx, Spot { lat, lon }, version).await? == 0 {
        let now = store::practice_spot(&mut *once.tx).await?.map(|(spot, _)| spot);
        let shown = |part: fn(Spot) -> f64| now.map_or_else(String::new, |spot| part(spot).to_string());
        let clash = Conflict {
            what: "Where the practice stands".into(),
            back: "/practice/road".into(),
            ..Conflict::default()
        }
        .field("Latitude", &form.lat, &shown(|spot| spot.lat))
        .field("Longitude", &form.lon, &shown(|spot| spot.lon));
        return Err(Error::Conflict(Box::new(clash)));
    }
    flash(&mut once.tx, &user, "Where the practice stands is saved.").await?;
    once.commit("/practice/road").await
}
