//! The words of messages: as they are proposed, and the practice's own.

use std::sync::LazyLock;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::store;
use crate::{
    App,
    accounts::{Can, act},
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

#[derive(Debug, Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct Data {
    late_over_min: i64,
    #[expect(dead_code, reason = "every number says where it is from; no page shows it yet")]
    late_source: String,
    #[expect(dead_code, reason = "as its source")]
    late_confidence: String,
    message: Vec<Proposed>,
}

/// A kind of message with the words that are proposed for it.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Proposed {
    pub kind: String,
    pub title: String,
    pub words: String,
    pub source: String,
    #[expect(dead_code, reason = "as its source")]
    confidence: String,
}

static DATA: LazyLock<Data> =
    LazyLock::new(|| toml::from_str(include_str!("data/messages.toml")).unwrap_or_default());

pub(super) fn all() -> &'static [Proposed] {
    &DATA.message
}

/// Minutes after which a client is told.
pub(super) fn late_over() -> i64 {
    DATA.late_over_min
}

/// A kind of message with the words that hold.
#[derive(Debug, Clone)]
pub(super) struct Text {
    pub kind: &'static str,
    pub title: &'static str,
    pub source: &'static str,
    pub proposed: &'static str,
    pub words: String,
    /// 0 while the proposed words hold.
    pub version: i64,
}

pub(super) async fn of_practice(app: &App) -> Result<Vec<Text>> {
    let own = store::texts(app.db.read()).await?;
    let text = |row: &'static Proposed| {
        let own = own.iter().find(|(kind, ..)| *kind == row.kind);
        Text {
            kind: &row.kind,
            title: &row.title,
            source: &row.source,
            proposed: &row.words,
            words: own.map_or_else(|| row.words.clone(), |(_, words, _)| words.clone()),
            version: own.map_or(0, |(.., version)| *version),
        }
    };
    Ok(all().iter().map(text).collect())
}

#[derive(Template, WebTemplate)]
#[template(path = "contacts/texts.html")]
struct TextsPage {
    shell: Shell,
    errors: Errors,
    texts: Vec<Text>,
}

pub(super) async fn page(State(app): State<App>, _: Can<act::RunPractice>, shell: Shell) -> Result<Response> {
    Ok(TextsPage { shell, errors: Errors::default(), texts: of_practice(&app).await? }.into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct TextForm {
    submission: String,
    version: String,
    kind: String,
    words: String,
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<TextForm>,
) -> Result<Response> {
    let kind = form.kind.as_str();
    let row = all().iter().find(|row| row.kind == kind).ok_or(Error::NotFound)?;
    let mut check = Check::new();
    let field = format!("words-{kind}");
    let words = check.needed_words(&field, &form.words, 1500, "Enter the message.");
    if !check.errors.is_empty() {
        let mut texts = of_practice(&app).await?;
        for text in texts.iter_mut().filter(|text| text.kind == kind) {
            text.words.clone_from(&form.words);
        }
        return Ok(invalid(TextsPage { shell, errors: check.errors, texts }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let version = form.version.parse().unwrap_or(-1);
    if store::set_text(&mut once.tx, (kind, &words), version, user.id, once.now).await? == 0 {
        drop(once);
        let now = of_practice(&app).await?.into_iter().find(|text| text.kind == kind);
        let now = now.map_or_else(String::new, |text| text.words);
        let clash =
            Conflict { what: row.title.clone(), back: "/practice/messages".into(), ..Conflict::default() };
        return Err(clash.field("Words", &form.words, &now).into());
    }
    flash(&mut once.tx, &user, &format!("Saved: {}.", row.title)).await?;
    once.commit("/practice/messages").await
}
