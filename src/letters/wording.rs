//! The practice's own words of a letter. Words that cannot be filled are refused, with the line.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{pages::meanings, store};
use crate::{
    App,
    accounts::{Can, act},
    audit,
    catalogue::{catalogue, letters::Letter},
    reasoning::fill::fill,
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const AT: &str = "/practice/letters";
const LONGEST: usize = 20_000;

#[derive(Template, WebTemplate)]
#[template(path = "letters/wordings.html")]
pub(super) struct WordingsPage {
    shell: Shell,
    letters: Vec<(&'static Letter, bool)>,
}

pub(super) async fn list(
    State(app): State<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
) -> Result<WordingsPage> {
    let mut letters = Vec::new();
    for letter in &catalogue().letters.letters {
        letters.push((letter, store::wording(app.db.read(), &letter.code).await?.0.is_some()));
    }
    Ok(WordingsPage { shell, letters })
}

#[derive(Template, WebTemplate)]
#[template(path = "letters/wording.html")]
struct WordingPage {
    shell: Shell,
    errors: Errors,
    letter: &'static Letter,
    form: WordingForm,
    /// Whether words of the practice's own hold.
    own: bool,
}

impl WordingPage {
    fn names(&self) -> Vec<(String, String)> {
        meanings(self.letter)
    }
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct WordingForm {
    submission: String,
    version: String,
    words: String,
    /// The proposed words shall hold again.
    proposed: String,
}

pub(super) async fn show(
    State(app): State<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Path(kind): Path<String>,
) -> Result<Response> {
    let letter = catalogue().letters.letters.get(&kind).ok_or(Error::NotFound)?;
    let (own, version) = store::wording(app.db.read(), &kind).await?;
    let form = WordingForm {
        version: version.to_string(),
        words: own.clone().unwrap_or_else(|| letter.words.clone()),
        ..WordingForm::default()
    };
    Ok(WordingPage { shell, errors: Errors::default(), letter, form, own: own.is_some() }.into_response())
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(kind): Path<String>,
    Form(form): Form<WordingForm>,
) -> Result<Response> {
    let letter = catalogue().letters.letters.get(&kind).ok_or(Error::NotFound)?;
    let words = match form.check(letter) {
        Ok(words) => words,
        Err(errors) => {
            let own = store::wording(app.db.read(), &kind).await?.0.is_some();
            return Ok(invalid(WordingPage { shell, errors, letter, form, own }));
        }
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let version = form.version.parse().unwrap_or(-1);
    if store::set_wording(&mut once.tx, (&kind, &words), version, user.id, once.now).await? == 0 {
        let (now, _) = store::wording(&mut *once.tx, &kind).await?;
        let clash =
            Conflict { what: letter.name.clone(), back: format!("{AT}/{kind}"), ..Conflict::default() };
        return Err(clash.field("Words", &form.words, &now.unwrap_or_else(|| letter.words.clone())).into());
    }
    audit::store::note(&mut once.tx, "words of a letter changed", &letter.name, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Saved: {}.", letter.name)).await?;
    once.commit(AT).await
}

impl WordingForm {
    /// The words; empty for the proposed ones.
    fn check(&self, letter: &Letter) -> std::result::Result<String, Errors> {
        if !self.proposed.is_empty() {
            return Ok(String::new());
        }
        let mut c = Check::new();
        let words = c.needed_words("words", &self.words, LONGEST, "Write the letter.");
        let names = meanings(letter);
        let known = |name: &str| names.iter().any(|(known, _)| known == name).then(|| name.to_owned());
        if let Err(fault) = fill(&words, known) {
            c.errors.add("words", fault.to_string());
        }
        c.done(words)
    }
}
