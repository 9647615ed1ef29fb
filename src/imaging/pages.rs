//! Where equipment calls, and who may: a page of the practice's settings.

use std::net::SocketAddr;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    equipment::is_title,
    listen::State,
    store::settings::{self, Caller, Settings},
};
use crate::{
    App,
    accounts::{Can, act},
    serve::is_near,
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

const PAGE: &str = "/practice/imaging";
const MB: i64 = 1024 * 1024;
const NO_TITLE: &str = "Enter an AE title: up to 16 plain letters, digits or signs, no backslash.";

#[derive(Template, WebTemplate)]
#[template(path = "imaging/settings.html")]
struct SettingsPage {
    shell: Shell,
    errors: Errors,
    state: State,
    form: SettingsForm,
    adding: CallerForm,
    callers: Vec<Caller>,
}

impl SettingsPage {
    async fn new(app: &App, shell: Shell) -> Result<Self> {
        let db = app.db.read();
        Ok(SettingsPage {
            shell,
            errors: Errors::default(),
            state: app.dicom.state(),
            form: SettingsForm::of(&settings::get(db).await?),
            adding: CallerForm::default(),
            callers: settings::callers(db).await?,
        })
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct SettingsForm {
    submission: String,
    version: String,
    enabled: String,
    address: String,
    ae_title: String,
    largest_mb: String,
    idle_seconds: String,
    total_minutes: String,
}

impl SettingsForm {
    fn of(s: &Settings) -> Self {
        SettingsForm {
            submission: String::new(),
            version: s.version.to_string(),
            enabled: if s.enabled { "yes".into() } else { String::new() },
            address: s.address.clone(),
            ae_title: s.ae_title.clone(),
            largest_mb: (s.largest_bytes / MB).to_string(),
            idle_seconds: s.idle_seconds.to_string(),
            total_minutes: s.total_minutes.to_string(),
        }
    }

    fn check(&self) -> std::result::Result<Settings, Errors> {
        let mut check = Check::new();
        let address = check.needed("address", &self.address, 60, "Enter an address and a port.");
        match address.parse::<SocketAddr>() {
            Ok(at) if at.ip().is_unspecified() || is_near(&at.ip().to_canonical()) => {}
            Ok(_) => check.errors.add("address", "Enter an address of the practice's own network."),
            Err(_) if address.is_empty() => {}
            Err(_) => check.errors.add("address", "Enter address and port, such as 192.168.1.20:11112."),
        }
        let ae_title = title(&mut check, "ae_title", &self.ae_title);
        let largest = whole(&mut check, "largest_mb", &self.largest_mb, 1, 4096);
        let idle_seconds = whole(&mut check, "idle_seconds", &self.idle_seconds, 1, 600);
        let total_minutes = whole(&mut check, "total_minutes", &self.total_minutes, 1, 1440);
        check.done(Settings {
            enabled: !self.enabled.is_empty(),
            address,
            ae_title,
            largest_bytes: largest * MB,
            idle_seconds,
            total_minutes,
            version: self.version.parse().unwrap_or(0),
        })
    }
}

fn title(check: &mut Check, field: &str, typed: &str) -> String {
    let title = check.line(field, typed, 200);
    if check.errors.on(field).is_none() && !is_title(&title) {
        check.errors.add(field, NO_TITLE);
    }
    title
}

/// A whole number within its bounds.
fn whole(check: &mut Check, field: &str, typed: &str, least: i64, most: i64) -> i64 {
    let number = typed.trim().parse().ok().filter(|n| (least..=most).contains(n));
    if number.is_none() {
        check.errors.add(field, format!("Enter a whole number from {least} to {most}."));
    }
    number.unwrap_or(least)
}

pub(super) async fn show(
    FromApp(app): FromApp<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
) -> Result<Response> {
    Ok(SettingsPage::new(&app, shell).await?.into_response())
}

/// Saves, and opens the listener anew: nothing has to be started again.
pub(super) async fn change(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<SettingsForm>,
) -> Result<Response> {
    let meant = match form.check() {
        Ok(meant) => meant,
        Err(errors) => {
            let page = SettingsPage::new(&app, shell).await?;
            return Ok(invalid(SettingsPage { errors, form, ..page }));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    if settings::update(&mut once.tx, &meant).await? == 0 {
        drop(once);
        return Err(conflict(&form, &SettingsForm::of(&settings::get(app.db.read()).await?)));
    }
    flash(&mut once.tx, &user, "The settings are saved.").await?;
    let answer = once.commit(PAGE).await?;
    app.dicom.reopen().await;
    Ok(answer)
}

fn conflict(yours: &SettingsForm, theirs: &SettingsForm) -> Error {
    let clash = Conflict { what: "The settings of imaging".into(), back: PAGE.into(), ..Conflict::default() }
        .field("Address", &yours.address, &theirs.address)
        .field("AE title", &yours.ae_title, &theirs.ae_title)
        .field("Largest object", &yours.largest_mb, &theirs.largest_mb)
        .field("Silence", &yours.idle_seconds, &theirs.idle_seconds)
        .field("Stay", &yours.total_minutes, &theirs.total_minutes);
    Error::Conflict(Box::new(clash))
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct CallerForm {
    submission: String,
    title: String,
    note: String,
}

pub(super) async fn add_caller(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<CallerForm>,
) -> Result<Response> {
    let mut check = Check::new();
    let caller = Caller {
        ae_title: title(&mut check, "title", &form.title),
        note: check.line("note", &form.note, 200),
    };
    if !check.errors.is_empty() {
        let page = SettingsPage::new(&app, shell).await?;
        return Ok(invalid(SettingsPage { errors: check.errors, adding: form, ..page }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    settings::add_caller(&mut once.tx, &caller, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("{} may call.", caller.ae_title)).await?;
    once.commit(PAGE).await
}

pub(super) async fn remove_caller(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Form(form): Form<CallerForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    settings::remove_caller(&mut once.tx, &form.title).await?;
    flash(&mut once.tx, &user, "It may not call any more.").await?;
    once.commit(PAGE).await
}
