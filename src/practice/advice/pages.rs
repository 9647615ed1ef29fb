//! The page on which an owner reads and approves what callers are told.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Wording,
    store::{self, Decision},
    wordings,
};
use crate::{
    App,
    accounts::{Can, User, act},
    practice,
    web::{Begun, Errors, Form, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "practice/advice.html")]
struct AdvicePage {
    shell: Shell,
    errors: Errors,
    zone: TimeZone,
    lines: Vec<Line>,
}

struct Line {
    wording: Wording,
    decision: Option<Decision>,
}

impl Line {
    /// Approved as it stands.
    fn approved(&self) -> bool {
        self.decision.as_ref().is_some_and(|d| d.approved && d.wording == self.wording.text)
    }

    /// Approved once, in other words.
    fn changed(&self) -> bool {
        self.decision.as_ref().is_some_and(|d| d.approved && d.wording != self.wording.text)
    }
}

impl AdvicePage {
    async fn new(app: &App, shell: Shell, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let mut decisions = store::latest(db).await?;
        let zone = practice::store::get(db).await?.zone;
        let lines = wordings().into_iter().map(|wording| {
            let at = decisions.iter().position(|decision| decision.code == wording.code);
            Line { wording, decision: at.map(|at| decisions.swap_remove(at)) }
        });
        Ok(AdvicePage { shell, errors, zone, lines: lines.collect() })
    }

    fn waiting(&self) -> usize {
        self.lines.iter().filter(|line| !line.approved()).count()
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct AdviceForm {
    submission: String,
    /// The rows, each with the words that were read; two lists of one length.
    code: Vec<String>,
    wording: Vec<String>,
}

impl AdviceForm {
    /// The rows as they were read, where they still stand so.
    fn rows(&self) -> Option<Vec<(&'static str, &'static str)>> {
        let all = wordings();
        let find = |(code, words): (&String, &String)| {
            let one = all.iter().find(|one| one.code == code && one.text == words)?;
            Some((one.code, one.text))
        };
        let rows: Option<Vec<_>> = self.code.iter().zip(&self.wording).map(find).collect();
        rows.filter(|rows| !rows.is_empty() && self.code.len() == self.wording.len())
    }
}

pub(super) async fn show(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    Ok(AdvicePage::new(&app, shell, Errors::default()).await?.into_response())
}

pub(super) async fn approve(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<AdviceForm>,
) -> Result<Response> {
    decide(&app, &user, shell, &form, true).await
}

pub(super) async fn withdraw(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<AdviceForm>,
) -> Result<Response> {
    decide(&app, &user, shell, &form, false).await
}

async fn decide(app: &App, user: &User, shell: Shell, form: &AdviceForm, approved: bool) -> Result<Response> {
    let Some(rows) = form.rows() else {
        let errors = Errors::one("advice", "These words are not the ones that stand here. Read them again.");
        return Ok(invalid(AdvicePage::new(app, shell, errors).await?));
    };
    let mut once = match begin(app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    for row in &rows {
        store::insert(&mut once.tx, *row, approved, user.id, once.now).await?;
    }
    let line = match (approved, rows.len()) {
        (true, 1) => "Approved: callers are told this from now on.".to_owned(),
        (true, all) => format!("Approved: callers are told these {all} things from now on."),
        (false, _) => "Taken back: callers are not told this any more.".to_owned(),
    };
    flash(&mut once.tx, user, &line).await?;
    once.commit("/practice/advice").await
}
