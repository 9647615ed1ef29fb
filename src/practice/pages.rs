//! The settings of the practice.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    Practice,
    settings::{self, SettingsForm},
    store, zones,
};
use crate::{
    App,
    accounts::{Can, act},
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "practice/settings.html")]
struct SettingsPage {
    shell: Shell,
    settings: SettingsForm,
    version: String,
    errors: Errors,
    zones: Vec<String>,
    scales: Vec<(&'static str, &'static str)>,
    orders: Vec<(&'static str, &'static str)>,
}

impl SettingsPage {
    fn new(shell: Shell, settings: SettingsForm, version: String, errors: Errors) -> Self {
        let (scales, orders) = (settings::lameness_scales(), settings::exam_orders());
        SettingsPage { shell, settings, version, errors, zones: zones::names(), scales, orders }
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ChangeForm {
    submission: String,
    version: String,
    #[serde(flatten)]
    settings: SettingsForm,
}

pub(super) async fn show(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    let practice = store::get(app.db.read()).await?;
    let version = practice.version.to_string();
    Ok(SettingsPage::new(shell, SettingsForm::of(&practice), version, Errors::default()).into_response())
}

pub(super) async fn change(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<ChangeForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let meant = form.settings.check(&mut check);
    let mut meant = match check.done(meant) {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(SettingsPage::new(shell, form.settings, form.version, errors))),
    };
    meant.version = form.version.parse().unwrap_or(0);
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::update(&mut once.tx, &meant).await? == 0 {
        drop(once);
        return Err(conflict(&meant, &store::get(app.db.read()).await?));
    }
    flash(&mut once.tx, &user, "The settings are saved.").await?;
    once.commit("/practice").await
}

fn conflict(yours: &Practice, theirs: &Practice) -> Error {
    let clash = Conflict { what: "The settings".into(), back: "/practice".into(), ..Conflict::default() }
        .field("Name of the practice", &yours.name, &theirs.name)
        .field("Time zone", &yours.zone_name, &theirs.zone_name)
        .field("Weights in", &yours.weight_unit, &theirs.weight_unit)
        .field("Heights in", &yours.height_unit, &theirs.height_unit)
        .field("Temperatures in", &yours.temperature_unit, &theirs.temperature_unit)
        .field("Lameness is graded on", &yours.lameness_scale, &theirs.lameness_scale)
        .field("Order of the exam", &yours.exam_order, &theirs.exam_order);
    Error::Conflict(Box::new(clash))
}
