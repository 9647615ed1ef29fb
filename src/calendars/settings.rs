//! What the practice lets calendars say, and whose calendars have an address.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{pages::StepForm, store};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    clock::At,
    ids::StaffId,
    practice,
    web::{Begun, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const SHOWS: [(&str, &str); 4] = [
    ("time", "the time alone"),
    ("yard", "time and yard"),
    ("horse", "time, yard and horse"),
    ("client", "time, yard, horse and client"),
];

/// A setting in words.
pub(super) fn words(shows: &str) -> &'static str {
    SHOWS.iter().find(|(key, _)| *key == shows).map_or("the time alone", |(_, words)| words)
}

#[derive(Template, WebTemplate)]
#[template(path = "calendars/settings.html")]
struct SettingsPage {
    shell: Shell,
    errors: Errors,
    shows: String,
    feeds: Vec<(StaffId, String, At)>,
    zone: TimeZone,
}

impl SettingsPage {
    async fn new(app: &App, shell: Shell, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        Ok(SettingsPage { shell, errors, shows: store::shows(db).await?, feeds: store::all(db).await?, zone })
    }

    fn choices(&self) -> [(&'static str, &'static str); 4] {
        SHOWS
    }
}

pub(super) async fn page(State(app): State<App>, _: Can<act::RunPractice>, shell: Shell) -> Result<Response> {
    Ok(SettingsPage::new(&app, shell, Errors::default()).await?.into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ShowsForm {
    submission: String,
    shows: String,
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<ShowsForm>,
) -> Result<Response> {
    if !SHOWS.iter().any(|(key, _)| *key == form.shows) {
        let errors = Errors::one("shows", "Choose what calendars say.");
        return Ok(invalid(SettingsPage::new(&app, shell, errors).await?));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::set_shows(&mut once.tx, &form.shows).await?;
    audit::store::note(&mut once.tx, "calendars say", words(&form.shows), user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Calendars say {}.", words(&form.shows))).await?;
    once.commit("/practice/calendars").await
}

pub(super) async fn withdraw(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Path(staff): Path<StaffId>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::withdraw(&mut once.tx, staff).await? == 1 {
        let name = crate::accounts::store::get(&mut *once.tx, staff).await?.name;
        audit::store::note(&mut once.tx, "calendar address withdrawn", &name, user.id, once.now).await?;
    }
    flash(&mut once.tx, &user, "The address is withdrawn.").await?;
    once.commit("/practice/calendars").await
}
