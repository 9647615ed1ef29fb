//! The practice's own words for the line reader: the page that keeps them, and the reader that knows them.

mod store;

use std::sync::Arc;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State,
    response::{IntoResponse, Response},
    routing::{get, post},
};
use serde::Deserialize;
use tokio::sync::RwLock;

use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    db::Db,
    ids::PracticeWordId,
    reasoning::line::{PracticeWord, Reader, WordError},
    web::{Begun, Check, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};
use store::Added;

/// More letters than any word or phrase of the trade has.
const LONGEST: usize = 60;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/practice/words", get(list).post(add))
        .route("/practice/words/{id}/remove", post(remove))
}

/// The line reader with the practice's own words, made when it is first asked for after they changed.
#[derive(Debug, Default)]
pub struct Ear {
    reader: RwLock<Option<Arc<Reader>>>,
}

impl Ear {
    /// The reader as the words stand now. One that an earlier version of the vocabulary knew and this one does not
    /// is left out; the page of the words marks it.
    pub async fn reader(&self, db: &Db) -> sqlx::Result<Arc<Reader>> {
        if let Some(reader) = &*self.reader.read().await {
            return Ok(reader.clone());
        }
        let mut held = self.reader.write().await;
        let words = store::all(db.read()).await?.into_iter().map(|added| added.word());
        let known: Vec<PracticeWord> = words.filter(|word| word.meaning(catalogue()).is_ok()).collect();
        let made =
            Arc::new(Reader::new(catalogue(), &known).unwrap_or_else(|_| Reader::shipped(catalogue())));
        *held = Some(made.clone());
        Ok(made)
    }

    async fn forget(&self) {
        *self.reader.write().await = None;
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "practice/words.html")]
struct WordsPage {
    shell: Shell,
    words: Vec<Added>,
    form: WordForm,
    errors: Errors,
}

impl WordsPage {
    /// Why a word is not used any more; empty for one that is.
    fn lost(&self, added: &Added) -> String {
        added.word().meaning(catalogue()).err().map(|error| error.to_string()).unwrap_or_default()
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct WordForm {
    submission: String,
    says: String,
    means: String,
}

impl WordForm {
    fn check(&self) -> std::result::Result<PracticeWord, Errors> {
        let mut check = Check::new();
        let one_space = |words: String| words.split_whitespace().collect::<Vec<_>>().join(" ");
        let says = one_space(check.needed("says", &self.says, LONGEST, "Type the word as it is said."));
        let means =
            one_space(check.needed("means", &self.means, LONGEST, "Type a word that the reader knows."));
        let word = PracticeWord { says, means };
        if check.errors.is_empty()
            && let Err(error) = word.check(catalogue())
        {
            let field = if matches!(error, WordError::Unknown { .. }) { "means" } else { "says" };
            check.errors.add(field, error.to_string());
        }
        check.done(word)
    }
}

async fn list(_: Can<act::RunPractice>, State(app): State<App>, shell: Shell) -> Result<Response> {
    Ok(page(&app, shell, WordForm::default(), Errors::default()).await?.into_response())
}

async fn page(app: &App, shell: Shell, form: WordForm, errors: Errors) -> Result<WordsPage> {
    Ok(WordsPage { shell, words: store::all(app.db.read()).await?, form, errors })
}

async fn add(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    shell: Shell,
    Form(form): Form<WordForm>,
) -> Result<Response> {
    let word = match form.check() {
        Ok(word) => word,
        Err(errors) => return Ok(invalid(page(&app, shell, form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if let Err(error) = store::insert(&mut once.tx, PracticeWordId::new(), &word, user.id, once.now).await {
        if !super::staff::is_taken(&error) {
            return Err(error.into());
        }
        drop(once);
        let taken = Errors::one("says", "This word is in the list already. Remove it there first.");
        return Ok(invalid(page(&app, shell, form, taken).await?));
    }
    flash(&mut once.tx, &user, &format!("From now on “{}” is read as {}.", word.says, word.means)).await?;
    let answer = once.commit("/practice/words").await;
    app.ear.forget().await;
    answer
}

async fn remove(
    Can { user, .. }: Can<act::RunPractice>,
    State(app): State<App>,
    Path(id): Path<PracticeWordId>,
    Form(form): Form<WordForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if let Some(says) = store::remove(&mut once.tx, id).await? {
        flash(&mut once.tx, &user, &format!("“{says}” is not read any more.")).await?;
    }
    let answer = once.commit("/practice/words").await;
    app.ear.forget().await;
    answer
}
