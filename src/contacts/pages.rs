//! The log of a client and of a horse, and the form that adds to it.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    CHANNELS, WAYS,
    form::ContactForm,
    store::{self, Contact, Wish},
};
use crate::{
    App,
    accounts::{Can, act},
    clients::{self, store::Client},
    clock::Day,
    followups,
    horses::{self, Card},
    ids::{ClientId, FollowUpId, HorseId},
    practice,
    web::{Begun, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "contacts/client.html")]
pub(super) struct ClientPage {
    shell: Shell,
    errors: Errors,
    client: Client,
    form: ContactForm,
    contacts: Vec<Contact>,
    wishes: Vec<Wish>,
    /// What was typed about a wish.
    wish_words: String,
    zone: TimeZone,
}

impl ClientPage {
    pub(super) async fn new(
        app: &App,
        shell: Shell,
        id: ClientId,
        form: Option<ContactForm>,
    ) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let client = clients::store::get(db, id).await?;
        let blank =
            || ContactForm { person: client.name.clone(), ..ContactForm::now(app.clock.now(), &zone) };
        Ok(ClientPage {
            shell,
            errors: Errors::default(),
            form: form.unwrap_or_else(blank),
            contacts: store::of_client(db, id).await?,
            wishes: store::wishes(db, id).await?,
            wish_words: String::new(),
            zone,
            client,
        })
    }

    /// The same page with what is wrong with a wish.
    pub(super) fn with_wish(self, errors: Errors, wish_words: String) -> Self {
        ClientPage { errors, wish_words, ..self }
    }

    fn channels(&self) -> &'static [(&'static str, &'static str)] {
        &CHANNELS
    }

    /// Nobody is asked not to be met.
    fn reached(&self) -> &'static [(&'static str, &'static str)] {
        &CHANNELS[..4]
    }

    fn ways(&self) -> &'static [(&'static str, &'static str)] {
        &WAYS
    }
}

pub(super) async fn of_client(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Path(id): Path<ClientId>,
) -> Result<Response> {
    Ok(ClientPage::new(&app, shell, id, None).await?.into_response())
}

pub(super) async fn note_client(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::EditClients>,
    Path(id): Path<ClientId>,
    Form(form): Form<ContactForm>,
) -> Result<Response> {
    clients::store::get(app.db.read(), id).await?;
    let zone = practice::store::get(app.db.read()).await?.zone;
    let mut new = match form.check(app.clock.now(), &zone) {
        Ok(new) => new,
        Err(errors) => {
            let page = ClientPage::new(&app, shell, id, Some(form)).await?;
            return Ok(invalid(ClientPage { errors, ..page }));
        }
    };
    (new.client, new.follow_up) = (Some(id), None);
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert(&mut once.tx, &new, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted.").await?;
    once.commit(&format!("/clients/{id}/contacts")).await
}

#[derive(Template, WebTemplate)]
#[template(path = "contacts/horse.html")]
struct HorsePage {
    shell: Shell,
    errors: Errors,
    card: Card,
    today: Day,
    form: ContactForm,
    /// The horse's people, to choose from.
    people: Vec<(ClientId, String)>,
    contacts: Vec<Contact>,
    earlier: Vec<Contact>,
    /// What the call is about.
    about: String,
    zone: TimeZone,
}

impl HorsePage {
    async fn new(app: &App, shell: Shell, id: HorseId, form: ContactForm) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let parties = horses::store::parties(db, id).await?;
        let mut people: Vec<(ClientId, String)> = Vec::new();
        for party in parties {
            if people.iter().all(|(known, _)| *known != party.client_id) {
                people.push((party.client_id, format!("{} ({})", party.name, party.role)));
            }
        }
        let about = match form.follow_up.parse::<FollowUpId>() {
            Ok(follow_up) => followups::store::get(db, follow_up).await?.what,
            Err(_) => String::new(),
        };
        let (earlier, contacts) = store::of_horse(db, id).await?.into_iter().partition(|one| one.earlier);
        Ok(HorsePage {
            shell,
            errors: Errors::default(),
            card: horses::store::card(db, id).await?,
            today: app.clock.now().day(&zone),
            form,
            people,
            contacts,
            earlier,
            about,
            zone,
        })
    }

    fn channels(&self) -> &'static [(&'static str, &'static str)] {
        &CHANNELS
    }

    fn ways(&self) -> &'static [(&'static str, &'static str)] {
        &WAYS
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct HorseQuery {
    follow_up: String,
}

pub(super) async fn of_horse(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Path(id): Path<HorseId>,
    Query(query): Query<HorseQuery>,
) -> Result<Response> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let parties = horses::store::parties(app.db.read(), id).await?;
    let first = parties.first();
    let form = ContactForm {
        follow_up: query.follow_up,
        client: first.map_or_else(String::new, |party| party.client_id.to_string()),
        person: first.map_or_else(String::new, |party| party.name.clone()),
        ..ContactForm::now(app.clock.now(), &zone)
    };
    Ok(HorsePage::new(&app, shell, id, form).await?.into_response())
}

pub(super) async fn note_horse(
    State(app): State<App>,
    shell: Shell,
    Can { user, .. }: Can<act::EditHorses>,
    Path(id): Path<HorseId>,
    Form(form): Form<ContactForm>,
) -> Result<Response> {
    let zone = practice::store::get(app.db.read()).await?.zone;
    let parties = horses::store::parties(app.db.read(), id).await?;
    let checked = form.check(app.clock.now(), &zone).and_then(|new| {
        let is_one = |client: ClientId| parties.iter().any(|party| party.client_id == client);
        match new.client {
            Some(client) if !is_one(client) => {
                Err(Errors::one("client", "Choose one of the horse's people."))
            }
            _ => Ok(new),
        }
    });
    let mut new = match checked {
        Ok(new) => new,
        Err(errors) => {
            let page = HorsePage::new(&app, shell, id, form).await?;
            return Ok(invalid(HorsePage { errors, ..page }));
        }
    };
    horses::store::card(app.db.read(), id).await?;
    if let Some(follow_up) = new.follow_up
        && followups::store::get(app.db.read(), follow_up).await?.horse_id != id
    {
        return Err(Error::NotFound);
    }
    new.horse = Some(id);
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    store::insert(&mut once.tx, &new, user.id, once.now).await?;
    flash(&mut once.tx, &user, "Noted.").await?;
    let back = if new.follow_up.is_some() { "/follow-ups".into() } else { format!("/horses/{id}/contacts") };
    once.commit(&back).await
}
