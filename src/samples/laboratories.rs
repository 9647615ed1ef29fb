//! The practice's laboratories: a list, and a form for each.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};

use super::{Laboratory, laboratory::TypedLaboratory, store};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::diagnostics::Weekday,
    ids::LaboratoryId,
    reasoning::enzymes::Activity,
    web::{Begun, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "samples/laboratories.html")]
struct ListPage {
    shell: Shell,
    laboratories: Vec<Laboratory>,
}

#[derive(Template, WebTemplate)]
#[template(path = "samples/laboratory.html")]
struct FormPage {
    shell: Shell,
    errors: Errors,
    /// None for a new one.
    id: Option<LaboratoryId>,
    form: TypedLaboratory,
}

impl FormPage {
    fn days(&self) -> [(&'static str, &'static str); 7] {
        Weekday::ALL.map(|day| (day.code(), day.name()))
    }

    fn units(&self) -> [(&'static str, &'static str); 2] {
        Activity::ALL.map(|one| (one.unit(), one.unit()))
    }

    /// Where the form is sent.
    fn at(&self) -> String {
        self.id.map_or_else(|| LIST.to_owned(), |id| format!("{LIST}/{id}"))
    }
}

const LIST: &str = "/practice/laboratories";

pub(super) async fn list(State(app): State<App>, _: Can<act::RunPractice>, shell: Shell) -> Result<Response> {
    let laboratories = store::laboratories(app.db.read()).await?;
    Ok(ListPage { shell, laboratories }.into_response())
}

pub(super) async fn new(_: Can<act::RunPractice>, shell: Shell) -> Response {
    FormPage { shell, errors: Errors::default(), id: None, form: TypedLaboratory::blank() }.into_response()
}

pub(super) async fn show(
    State(app): State<App>,
    _: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<LaboratoryId>,
) -> Result<Response> {
    let form = TypedLaboratory::of(&kept(&app, id).await?);
    Ok(FormPage { shell, errors: Errors::default(), id: Some(id), form }.into_response())
}

async fn kept(app: &App, id: LaboratoryId) -> Result<Laboratory> {
    let all = store::laboratories(app.db.read()).await?;
    all.into_iter().find(|one| one.id == id).ok_or(Error::NotFound)
}

pub(super) async fn add(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Form(form): Form<TypedLaboratory>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let new = match form.check(LaboratoryId::new()) {
        Ok(new) => new,
        Err(errors) => return Ok(invalid(FormPage { shell, errors, id: None, form })),
    };
    if let Err(error) = store::insert(&mut once.tx, &new, user.id, once.now).await {
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
    Path(id): Path<LaboratoryId>,
    Form(form): Form<TypedLaboratory>,
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
    match store::update(&mut once.tx, &new).await {
        Ok(1) => {}
        Ok(_) => return Err(clash(&new, &theirs)),
        Err(error) => {
            let errors = taken(error)?;
            return Ok(invalid(FormPage { shell, errors, id: Some(id), form }));
        }
    }
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(LIST).await
}

/// A name that is there already is said beside its field; every other error stays one.
fn taken(error: sqlx::Error) -> Result<Errors> {
    let unique = error.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation);
    if unique {
        Ok(Errors::one("name", "A laboratory of this name is in the list already."))
    } else {
        Err(error.into())
    }
}

fn clash(ours: &Laboratory, theirs: &Laboratory) -> Error {
    let clash = Conflict { what: theirs.name.clone(), back: LIST.to_owned(), ..Conflict::default() };
    let clash = clash
        .field("Name", &ours.name, &theirs.name)
        .field("Results", &ours.result_route, &theirs.result_route)
        .field("Steps", &ours.steps, &theirs.steps);
    Error::Conflict(Box::new(clash))
}
