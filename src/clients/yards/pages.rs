//! The yards by name, a yard's own page, and the forms that enter and change one.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    form::YardForm,
    store::{self, Yard},
};
use crate::{
    App,
    accounts::{Can, act},
    biosecurity,
    clients::{self, Pick},
    horses,
    ids::{ClientId, YardId},
    practice,
    search::SearchBox,
    web::{Begun, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "clients/yards.html")]
pub(super) struct ListPage {
    shell: Shell,
    search: SearchBox,
    yards: Vec<Yard>,
}

pub(super) async fn list(State(app): State<App>, shell: Shell, _: Can<act::SeeClients>) -> Result<ListPage> {
    let yards = store::all(app.db.read()).await?;
    Ok(ListPage { shell, search: SearchBox::of("yard"), yards })
}

#[derive(Template, WebTemplate)]
#[template(path = "clients/yard.html")]
pub(super) struct YardPage {
    shell: Shell,
    yard: Yard,
    horses: Vec<horses::store::Listed>,
    /// What is marked here, in words.
    marks: Vec<String>,
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Path(id): Path<YardId>,
) -> Result<YardPage> {
    let db = app.db.read();
    let yard = store::get(db, id).await?;
    let today = app.clock.now().day(&practice::store::get(db).await?.zone);
    let marks = biosecurity::store::standing(db).await?;
    let marks = marks.of(None, Some(id), today).iter().map(|mark| format!("{}.", mark.words())).collect();
    Ok(YardPage { shell, yard, horses: horses::store::at_yard(db, id).await?, marks })
}

#[derive(Template, WebTemplate)]
#[template(path = "clients/yard_form.html")]
pub(super) struct FormPage {
    shell: Shell,
    /// The yard that is changed; `None` for a new one.
    id: Option<YardId>,
    pick: Pick,
    form: YardForm,
    errors: Errors,
}

impl FormPage {
    async fn new(
        app: &App,
        shell: Shell,
        id: Option<YardId>,
        form: YardForm,
        errors: Errors,
    ) -> Result<Self> {
        let pick = Pick::read(app, &form.client, &form.client_id).await?;
        Ok(FormPage { shell, id, pick, form, errors })
    }

    fn action(&self) -> String {
        self.id.map_or_else(|| "/yards".into(), |id| format!("/yards/{id}"))
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct NewQuery {
    client: String,
}

pub(super) async fn new_page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditClients>,
    Query(query): Query<NewQuery>,
) -> Result<FormPage> {
    let mut form = YardForm::default();
    if let Ok(id) = query.client.parse::<ClientId>() {
        form.client = clients::store::get(app.db.read(), id).await?.name;
        form.client_id = query.client;
    }
    FormPage::new(&app, shell, None, form, Errors::default()).await
}

pub(super) async fn create(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditClients>,
    Form(form): Form<YardForm>,
) -> Result<Response> {
    let pick = Pick::read(&app, &form.client, &form.client_id).await?;
    let details = match form.check(&pick) {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage::new(&app, shell, None, form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let id = store::insert(&mut once.tx, &details, once.now).await?;
    flash(&mut once.tx, &who.user, &format!("{} is entered.", details.name)).await?;
    once.commit(&format!("/yards/{id}")).await
}

pub(super) async fn edit_page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditClients>,
    Path(id): Path<YardId>,
) -> Result<FormPage> {
    let form = YardForm::of(&store::get(app.db.read(), id).await?);
    FormPage::new(&app, shell, Some(id), form, Errors::default()).await
}

pub(super) async fn change(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditClients>,
    Path(id): Path<YardId>,
    Form(form): Form<YardForm>,
) -> Result<Response> {
    store::get(app.db.read(), id).await?;
    let pick = Pick::read(&app, &form.client, &form.client_id).await?;
    let details = match form.check(&pick) {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage::new(&app, shell, Some(id), form, errors).await?)),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::update(&mut once.tx, id, form.version.parse().unwrap_or(0), &details).await? == 0 {
        let now = YardForm::of(&store::get(&mut *once.tx, id).await?);
        return Err(form.clash(&now, format!("/yards/{id}/edit")).into());
    }
    flash(&mut once.tx, &who.user, &format!("{} is saved.", details.name)).await?;
    once.commit(&format!("/yards/{id}")).await
}
