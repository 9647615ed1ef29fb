//! The practice's own programmes: a list with the shipped ones to copy, and a form for each.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    own_form::{self, OwnForm},
    store::{self, Own},
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{catalogue, programmes::Programme},
    ids::OwnProgrammeId,
    reasoning::programme::Step,
    web::{Begun, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

const LIST: &str = "/practice/programmes";

#[derive(Template, WebTemplate)]
#[template(path = "programmes/own_list.html")]
struct ListPage {
    shell: Shell,
    own: Vec<Own>,
}

impl ListPage {
    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn shipped(&self) -> &'static [Programme] {
        &catalogue().programmes.programmes
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "programmes/own.html")]
struct FormPage {
    shell: Shell,
    errors: Errors,
    /// None for a new one.
    id: Option<OwnProgrammeId>,
    form: OwnForm,
}

impl FormPage {
    /// Where the form is sent.
    fn at(&self) -> String {
        self.id.map_or_else(|| LIST.to_owned(), |id| format!("{LIST}/{id}"))
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Copied {
    from: String,
}

pub(super) async fn list(State(app): State<App>, _: Can<act::RunPractice>, shell: Shell) -> Result<Response> {
    let own = store::own(app.db.read()).await?;
    Ok(ListPage { shell, own }.into_response())
}

/// A new one, with the steps of the programme that it is copied from.
pub(super) async fn new(_: Can<act::RunPractice>, shell: Shell, Query(copied): Query<Copied>) -> Response {
    let form = match catalogue().programmes.programmes.get(&copied.from) {
        Some(row) => OwnForm {
            name: format!("{}, our way", row.name),
            ground: row.text.clone(),
            source: format!("changed from: {}", row.source),
            steps: Step::of(row).iter().map(own_form::line).collect::<Vec<_>>().join("\n"),
            in_use: "yes".into(),
            ..OwnForm::default()
        },
        None => OwnForm { in_use: "yes".into(), ..OwnForm::default() },
    };
    FormPage { shell, errors: Errors::default(), id: None, form }.into_response()
}

pub(super) async fn show(
    State(app): State<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<OwnProgrammeId>,
) -> Result<Response> {
    let form = OwnForm::of(&kept(&app, id).await?);
    Ok(FormPage { shell, errors: Errors::default(), id: Some(id), form }.into_response())
}

async fn kept(app: &App, id: OwnProgrammeId) -> Result<Own> {
    store::own(app.db.read()).await?.into_iter().find(|one| one.id == id).ok_or(Error::NotFound)
}

pub(super) async fn add(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<OwnForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let new = match form.check(OwnProgrammeId::new()) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(FormPage { shell, errors, id: None, form })),
    };
    if let Err(error) = store::insert_own(&mut once.tx, &new, user.id, once.now).await {
        let errors = taken(error)?;
        return Ok(invalid(FormPage { shell, errors, id: None, form }));
    }
    flash(&mut once.tx, &user, &format!("{} is in the list.", new.name)).await?;
    once.commit(LIST).await
}

pub(super) async fn change(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<OwnProgrammeId>,
    Form(form): Form<OwnForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let theirs = kept(&app, id).await?;
    let new = match form.check(id) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(FormPage { shell, errors, id: Some(id), form })),
    };
    match store::update_own(&mut once.tx, &new).await {
        Ok(1) => {}
        Ok(_) => return Err(clash(&new, &theirs)),
        Err(error) => {
            let errors = taken(error)?;
            return Ok(invalid(FormPage { shell, errors, id: Some(id), form }));
        }
    }
    flash(&mut once.tx, &user, "Saved. What is prescribed already stays as it was.").await?;
    once.commit(LIST).await
}

/// A name that is there already is said beside its field; every other error stays one.
fn taken(error: sqlx::Error) -> Result<Errors> {
    let unique = error.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation);
    if unique {
        Ok(Errors::one("name", "A programme of this name is in the list already."))
    } else {
        Err(error.into())
    }
}

fn clash(ours: &Own, theirs: &Own) -> Error {
    let clash = Conflict { what: theirs.name.clone(), back: LIST.to_owned(), ..Conflict::default() };
    let clash = clash.field("Name", &ours.name, &theirs.name).field("Steps", &ours.steps, &theirs.steps);
    Error::Conflict(Box::new(clash))
}
