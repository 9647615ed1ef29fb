//! What is done with an import: its columns said, its likely doubles decided, run, taken back, or dropped.

use std::time::Duration;

use axum::{extract::State as FromApp, response::Response};
use serde::Deserialize;

use super::{
    State, columns as fields, judge,
    pages::{CHOICES, ImportPage, LIKELY, PageQuery},
    run as running, store, undo as taking_back,
};
use crate::{
    App,
    accounts::{Can, act},
    ids::ImportId,
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid, repeated,
    },
};

/// A short run has ended before its page is asked for.
const WAITED: Duration = Duration::from_secs(2);

/// A form of an import: its fields as they come, since their number is that of the file's columns and rows.
type Fields = Vec<(String, String)>;

fn field<'a>(form: &'a Fields, name: &str) -> &'a str {
    form.iter().find(|(known, _)| known == name).map_or("", |(_, value)| value.as_str())
}

fn version(form: &Fields) -> i64 {
    field(form, "version").parse().unwrap_or(0)
}

fn here(id: ImportId) -> String {
    format!("/practice/imports/{id}")
}

async fn stale(app: &App, id: ImportId) -> Result<Error> {
    let (what, back) = match store::get(app.db.read(), id).await {
        Ok(import) => {
            (format!("The import of {}, which is {} now", import.name, import.state.words()), here(id))
        }
        Err(sqlx::Error::RowNotFound) => {
            ("The file, which was taken away".into(), "/practice/imports".into())
        }
        Err(other) => return Err(other.into()),
    };
    Ok(Conflict { what, back, ..Conflict::default() }.into())
}

pub(super) async fn columns(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<ImportId>,
    Form(form): Form<Fields>,
) -> Result<Response> {
    let import = store::get(app.db.read(), id).await?;
    let picked: Vec<String> =
        (0..import.header.len()).map(|at| field(&form, &format!("column-{at}")).to_owned()).collect();
    let mut check = Check::new();
    for (at, name) in picked.iter().enumerate() {
        if !fields::is_known(name) {
            check.errors.add(&format!("column-{at}"), "Choose one of the list.");
        }
    }
    let names = ["client_name", "client_first", "client_last", "horse_name", "stable_name"];
    if !picked.iter().any(|name| names.contains(&name.as_str())) {
        check.errors.add("column-0", "Say which column has the name of the client or of the horse.");
    }
    if !check.errors.is_empty() {
        let page = ImportPage::new(&app, shell, id, &PageQuery::default(), check.errors).await?;
        return Ok(invalid(page.picked_again(picked)));
    }
    if let Some(first) = repeated(&app, field(&form, "submission")).await? {
        return Ok(first);
    }
    let judged = judge::all(&app, id, &picked).await?;
    let mut once = match begin(&app, field(&form, "submission"), Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::set_columns(&mut once.tx, id, version(&form), &picked).await? == 0 {
        drop(once);
        return Err(stale(&app, id).await?);
    }
    store::judge(&mut once.tx, id, &judged).await?;
    once.commit(&here(id)).await
}

pub(super) async fn decide(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<ImportId>,
    Form(form): Form<Fields>,
) -> Result<Response> {
    store::get(app.db.read(), id).await?;
    let likely = field(&form, "likely");
    let known = |list: &[(&str, &str)], picked: &str| list.iter().any(|(key, _)| *key == picked);
    let mut errors = Errors::default();
    if !known(&LIKELY, likely) {
        errors.add("likely", "Choose what becomes of rows that may be here already.");
    }
    let mut rows = Vec::new();
    for (name, picked) in form.iter().filter(|(_, picked)| !picked.is_empty()) {
        let Some(number) = name.strip_prefix("row-") else { continue };
        match number.parse::<i64>() {
            Ok(number) if known(&CHOICES, picked) => rows.push((number, picked.clone())),
            _ => errors.add(name, "Choose one of these."),
        }
    }
    if !errors.is_empty() {
        return Ok(invalid(ImportPage::new(&app, shell, id, &PageQuery::default(), errors).await?));
    }
    let mut once = match begin(&app, field(&form, "submission"), Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::decide(&mut once.tx, id, version(&form), likely, &rows).await? == 0 {
        drop(once);
        return Err(stale(&app, id).await?);
    }
    flash(&mut once.tx, &user, "Noted.").await?;
    once.commit(&here(id)).await
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct StepForm {
    submission: String,
    version: String,
}

impl StepForm {
    fn version(&self) -> i64 {
        self.version.parse().unwrap_or(0)
    }
}

pub(super) async fn run(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<ImportId>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let import = store::get(&mut *once.tx, id).await?;
    let counts = store::counts(&mut *once.tx, id).await?;
    if counts.ask > 0 && import.likely == "ask" && import.version == form.version() {
        drop(once);
        let words = format!("{} rows may be somebody who is here already: decide first.", counts.ask);
        let errors = Errors::one("likely", words);
        return Ok(invalid(ImportPage::new(&app, shell, id, &PageQuery::default(), errors).await?));
    }
    // A run that was cut by a stop of the server left nothing behind and may be begun again.
    let from = if import.state == State::Running && app.imports.of(id).is_none() {
        State::Running
    } else {
        State::Preview
    };
    let by = (user.id, once.now);
    if store::set_state(&mut once.tx, id, form.version(), (from, State::Running), by).await? == 0 {
        drop(once);
        return Err(stale(&app, id).await?);
    }
    let answer = once.commit(&here(id)).await?;
    let task = running::begin(&app, id, user.id);
    // It goes on when the time is over: the page tells how far it has come.
    let _ = tokio::time::timeout(WAITED, task).await;
    Ok(answer)
}

pub(super) async fn undo(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    Path(id): Path<ImportId>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let import = store::get(&mut *once.tx, id).await?;
    if import.version != form.version() || import.state != State::Done {
        drop(once);
        return Err(stale(&app, id).await?);
    }
    if !taking_back::in_the_way(&mut once.tx, id).await?.is_empty() {
        drop(once);
        let errors = Errors::one("undo", "Something hangs on what was entered: it is listed below.");
        return Ok(invalid(ImportPage::new(&app, shell, id, &PageQuery::default(), errors).await?));
    }
    taking_back::undo(&mut once.tx, id, form.version(), user.id, once.now).await?;
    flash(&mut once.tx, &user, "The import is taken back: nothing of it is here any more.").await?;
    once.commit(&here(id)).await
}

pub(super) async fn drop_it(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Path(id): Path<ImportId>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::drop_it(&mut once.tx, id, form.version()).await? == 0 {
        drop(once);
        return Err(stale(&app, id).await?);
    }
    flash(&mut once.tx, &user, "The file is taken away. Nothing of it was entered.").await?;
    once.commit("/practice/imports").await
}
