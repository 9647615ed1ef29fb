//! The page of the backups: how old the last good copy is, where copies go, and the recovery passphrase.

use std::time::Duration;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Line, log, passphrase,
    plan::{self, PlanForm},
    rounds,
};
use crate::{
    App,
    accounts::{self, Can, act, confirm},
    attachments, audit,
    checkup::Watch,
    clock::{At, since_words},
    practice,
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Peer, Result, Shell, begin, flash, invalid, repeated,
    },
};

const HERE: &str = "/practice/backups";
/// So many copies are listed.
const LISTED: usize = 20;
/// A small practice is copied before its page is asked for again.
const WAITED: Duration = Duration::from_secs(2);

#[derive(Template, WebTemplate)]
#[template(path = "backup/page.html")]
struct BackupsPage {
    shell: Shell,
    now: At,
    zone: TimeZone,
    last: Option<Line>,
    lines: Vec<Line>,
    /// What is being done just now, from 0 to 100 where that is known.
    running: Option<(&'static str, Option<u64>)>,
    sealed: bool,
    /// Shown on this page and never again.
    phrase: Option<String>,
    plan: PlanForm,
    planned: bool,
    errors: Errors,
}

impl BackupsPage {
    async fn of(app: &App, shell: Shell) -> Result<Self> {
        let (data, stored) = (app.db.folder(), plan::get(app.db.read()).await?);
        let mut lines = log::lines(data)?;
        let last = lines.iter().find(|line| line.is_good()).cloned();
        lines.truncate(LISTED);
        let running = app.backups.now().map(|progress| {
            let (what, done, of) = progress.now();
            (what, (done * 100).checked_div(of).map(|part| part.min(100)))
        });
        Ok(BackupsPage {
            shell,
            now: app.clock.now(),
            zone: practice::store::get(app.db.read()).await?.zone,
            last,
            lines,
            running,
            sealed: passphrase::is_made(data),
            phrase: None,
            planned: !stored.folder.is_empty(),
            plan: PlanForm::of(&stored),
            errors: Errors::default(),
        })
    }

    fn size(line: &Line) -> String {
        attachments::size(i64::try_from(line.bytes).unwrap_or(i64::MAX))
    }

    fn age(&self, line: &Line) -> String {
        since_words(self.now.minutes_since(line.at))
    }
}

pub(super) async fn show(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
) -> Result<Response> {
    let page = BackupsPage::of(&app, shell).await?;
    Ok(BackupsPage { phrase: app.backups.take(user.session), ..page }.into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ChangeForm {
    submission: String,
    factor: String,
    #[serde(flatten)]
    plan: PlanForm,
}

pub(super) async fn change(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    shell: Shell,
    Form(form): Form<ChangeForm>,
) -> Result<Response> {
    if let Some(answer) = repeated(&app, &form.submission).await? {
        return Ok(answer);
    }
    let mut check = Check::new();
    let meant = form.plan.check(app.db.folder(), &mut check);
    confirm::second_beside(&app, &user, peer, ("factor", &form.factor), &mut check.errors).await?;
    let meant = match check.done(meant) {
        Ok(meant) => meant,
        Err(errors) => {
            let page = BackupsPage { plan: form.plan, errors, ..BackupsPage::of(&app, shell).await? };
            return Ok(invalid(page));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if plan::update(&mut once.tx, &meant).await? == 0 {
        drop(once);
        let theirs = plan::get(app.db.read()).await?;
        let clash = Conflict { what: "Where copies go".into(), back: HERE.into(), ..Conflict::default() }
            .field("Folder", &meant.folder, &theirs.folder);
        return Err(Error::Conflict(Box::new(clash)));
    }
    let words = if meant.folder.is_empty() { "no folder".to_owned() } else { meant.folder };
    audit::store::note(&mut once.tx, "where copies go", &words, user.id, once.now).await?;
    flash(&mut once.tx, &user, "It is saved.").await?;
    once.commit(HERE).await
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct NowForm {
    submission: String,
}

pub(super) async fn copy_now(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    Form(form): Form<NowForm>,
) -> Result<Response> {
    if plan::get(app.db.read()).await?.folder.is_empty() {
        return Err(Error::BadRequest("Say first in which folder copies are put".into()));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    audit::store::note(&mut once.tx, "copy of the practice", "asked for", user.id, once.now).await?;
    let answer = once.commit(HERE).await?;
    let work = tokio::spawn(async move {
        if let Err(error) = rounds::begin(&app, Watch::new()).await {
            tracing::error!(error = format!("{error:#}"), "no copy was made");
        }
    });
    // It goes on by itself when it takes longer.
    let _ = tokio::time::timeout(WAITED, work).await;
    Ok(answer)
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct PassphraseForm {
    submission: String,
    password: String,
    factor_phrase: String,
}

/// Makes a recovery passphrase and leaves it for the page, which shows it once.
pub(super) async fn passphrase(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    peer: Option<Extension<Peer>>,
    shell: Shell,
    Form(form): Form<PassphraseForm>,
) -> Result<Response> {
    if let Some(answer) = repeated(&app, &form.submission).await? {
        return Ok(answer);
    }
    let mut errors = Errors::default();
    if !accounts::confirm(&app, &user, peer, &form.password).await? {
        errors.add("password", "This is not your password.");
    }
    confirm::second_beside(&app, &user, peer, ("factor_phrase", &form.factor_phrase), &mut errors).await?;
    if !errors.is_empty() {
        return Ok(invalid(BackupsPage { errors, ..BackupsPage::of(&app, shell).await? }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let phrase = passphrase::make(app.db.folder())?;
    audit::store::note(&mut once.tx, "recovery passphrase", "made anew", user.id, once.now).await?;
    let answer = once.commit(HERE).await?;
    app.backups.leave(user.session, phrase);
    Ok(answer)
}
