//! The words of messages: as they are proposed, and the practice's own.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{message::NAMES, store};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{Choice, Table, catalogue},
    reasoning::fill::fill,
    web::{Begun, Check, Conflict, Error, Errors, Form, Result, Shell, begin, flash, invalid},
};

/// The kinds of messages, with the words that are proposed for them.
pub(super) fn all() -> &'static Table<Choice> {
    &catalogue().desk.messages
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
    let text = |row: &'static Choice| {
        let own = own.iter().find(|(kind, ..)| *kind == row.code);
        let proposed = row.text.as_deref().unwrap_or_default();
        Text {
            kind: &row.code,
            title: &row.name,
            source: &row.source,
            proposed,
            words: own.map_or_else(|| proposed.to_owned(), |(_, words, _)| words.clone()),
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
    let row = all().get(kind).ok_or(Error::NotFound)?;
    let mut check = Check::new();
    let field = format!("words-{kind}");
    let words = check.needed_words(&field, &form.words, 1500, "Enter the message.");
    let known = |name: &str| NAMES.contains(&name).then(|| name.to_owned());
    if let Err(fault) = fill(&words, known) {
        check.errors.add(&field, fault.to_string());
    }
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
            Conflict { what: row.name.clone(), back: "/practice/messages".into(), ..Conflict::default() };
        return Err(clash.field("Words", &form.words, &now).into());
    }
    flash(&mut once.tx, &user, &format!("Saved: {}.", row.name)).await?;
    once.commit("/practice/messages").await
}
