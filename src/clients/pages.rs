//! The clients by name, a client's own page, and the forms that enter and change one.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Details,
    form::ClientForm,
    store::{self, Client, Listed},
    yards,
};
use crate::{
    App,
    accounts::{Can, act},
    exports::vcard,
    horses::{self, NewParty},
    ids::{ClientId, HorseId},
    merging::{self, store::Trace},
    practice,
    search::SearchBox,
    web::{Begun, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

const ON_A_PAGE: usize = 50;
const KINDS: [(&str, &str); 2] = [("person", "person"), ("organisation", "organisation")];

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ListQuery {
    page: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "clients/list.html")]
pub(super) struct ListPage {
    shell: Shell,
    search: SearchBox,
    clients: Vec<Listed>,
    page: usize,
    more: bool,
}

impl ListPage {
    fn before(&self) -> String {
        if self.page > 1 { format!("/clients?page={}", self.page - 1) } else { String::new() }
    }

    fn after(&self) -> String {
        if self.more { format!("/clients?page={}", self.page + 1) } else { String::new() }
    }
}

pub(super) async fn list(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Query(query): Query<ListQuery>,
) -> Result<ListPage> {
    let page = query.page.parse::<usize>().unwrap_or(1).clamp(1, 100_000);
    let mut clients = store::list(app.db.read(), (page - 1) * ON_A_PAGE, ON_A_PAGE + 1).await?;
    let more = clients.len() > ON_A_PAGE;
    clients.truncate(ON_A_PAGE);
    Ok(ListPage { shell, search: SearchBox::of("client"), clients, page, more })
}

#[derive(Template, WebTemplate)]
#[template(path = "clients/page.html")]
pub(super) struct ClientPage {
    shell: Shell,
    client: Client,
    details: Details,
    horses: Vec<horses::store::Listed>,
    yards: Vec<yards::store::Yard>,
    /// What was put together with it.
    traces: Vec<Trace>,
    zone: TimeZone,
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Path(asked): Path<String>,
) -> Result<Response> {
    let db = app.db.read();
    // `{id}.vcf` is the same client for an address book.
    if let Some(id) = asked.strip_suffix(".vcf") {
        return vcf(&app, id.parse().map_err(|_| Error::NotFound)?).await;
    }
    let id = asked.parse::<ClientId>().map_err(|_| Error::NotFound)?;
    let client = store::get(db, id).await?;
    let (details, _) = store::details(&mut *db.acquire().await?, id).await?;
    let horses = horses::store::of_client(db, id).await?;
    let yards = yards::store::of_client(db, id).await?;
    let traces = merging::store::traces(db, id.into()).await?;
    let zone = practice::store::get(db).await?.zone;
    Ok(ClientPage { shell, client, details, horses, yards, traces, zone }.into_response())
}

async fn vcf(app: &App, id: ClientId) -> Result<Response> {
    let (details, _) = store::details(&mut *app.db.read().acquire().await?, id).await?;
    let kind = [
        (header::CONTENT_TYPE, vcard::MEDIA_TYPE),
        (header::CONTENT_DISPOSITION, "attachment; filename=\"contact.vcf\""),
    ];
    Ok((kind, vcard::card(id, &details)).into_response())
}

#[derive(Template, WebTemplate)]
#[template(path = "clients/form.html")]
pub(super) struct FormPage {
    shell: Shell,
    /// The client who is changed; `None` for a new one.
    id: Option<ClientId>,
    form: ClientForm,
    errors: Errors,
}

impl FormPage {
    fn kinds(&self) -> [(&'static str, &'static str); 2] {
        KINDS
    }

    fn action(&self) -> String {
        self.id.map_or_else(|| "/clients".into(), |id| format!("/clients/{id}"))
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct NewQuery {
    horse: String,
    name: String,
}

pub(super) async fn new_page(
    shell: Shell,
    _: Can<act::EditClients>,
    Query(query): Query<NewQuery>,
) -> FormPage {
    let form =
        ClientForm { horse: query.horse, name: query.name, kind: "person".into(), ..ClientForm::default() };
    FormPage { shell, id: None, form, errors: Errors::default() }
}

pub(super) async fn create(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditClients>,
    Form(form): Form<ClientForm>,
) -> Result<Response> {
    let details = match form.check() {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage { shell, id: None, form, errors })),
    };
    let horse = match form.horse.parse::<HorseId>() {
        Ok(id) => Some(horses::store::card(app.db.read(), id).await?.id),
        Err(_) => None,
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let id = store::insert(&mut once.tx, &details, once.now).await?;
    flash(&mut once.tx, &who.user, &format!("{} is entered.", details.name)).await?;
    let Some(horse) = horse else { return once.commit(&format!("/clients/{id}")).await };
    horses::store::add_party(&mut once.tx, horse, &NewParty::owner(id), once.now).await?;
    once.commit(&format!("/horses/{horse}/parties")).await
}

pub(super) async fn edit_page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::EditClients>,
    Path(id): Path<ClientId>,
) -> Result<FormPage> {
    let (details, version) = store::details(&mut *app.db.read().acquire().await?, id).await?;
    Ok(FormPage { shell, id: Some(id), form: ClientForm::of(&details, version), errors: Errors::default() })
}

pub(super) async fn change(
    State(app): State<App>,
    shell: Shell,
    who: Can<act::EditClients>,
    Path(id): Path<ClientId>,
    Form(form): Form<ClientForm>,
) -> Result<Response> {
    store::get(app.db.read(), id).await?;
    let details = match form.check() {
        Ok(details) => details,
        Err(errors) => return Ok(invalid(FormPage { shell, id: Some(id), form, errors })),
    };
    let mut once = match begin(&app, &form.submission, Some(who.user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    if store::update(&mut once.tx, id, form.version.parse().unwrap_or(0), &details).await? == 0 {
        let (now, version) = store::details(&mut once.tx, id).await?;
        let now = ClientForm::of(&now, version);
        return Err(form.clash(&now, format!("/clients/{id}/edit")).into());
    }
    flash(&mut once.tx, &who.user, &format!("{} is saved.", details.name)).await?;
    once.commit(&format!("/clients/{id}")).await
}
