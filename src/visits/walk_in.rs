//! While you are here: a visit that begins at the horse, without a booking.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    State,
    complaint::NewComplaint,
    store::{
        self, NewVisit, booking,
        changes::{self, NewChange},
        day::{self, Line},
    },
    when::USUAL_LENGTH,
};
use crate::{
    App,
    accounts::{Can, User, act},
    clock::Day,
    horses::{self, Card},
    ids::{HorseId, VisitId},
    practice, search,
    web::{Begun, Check, Errors, Form, Once, Path, Query, Result, Shell, begin, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "visits/walk_in.html")]
struct WalkInPage {
    shell: Shell,
    errors: Errors,
    form: WalkInForm,
    q: String,
    hits: Vec<search::Hit>,
    neighbours: Vec<(HorseId, String)>,
    card: Option<Card>,
    already: Vec<Line>,
    zone: TimeZone,
    today: Day,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct WalkInQuery {
    q: String,
    horse: String,
    /// A visit at the same yard.
    from: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct WalkInForm {
    submission: String,
    words: String,
    from: String,
}

impl WalkInPage {
    async fn new(app: &App, shell: Shell, horse: Option<HorseId>, form: WalkInForm) -> Result<Self> {
        let db = app.db.read();
        let zone = practice::store::get(db).await?.zone;
        let card = match horse {
            Some(id) => Some(horses::store::card(db, id).await?),
            None => None,
        };
        let already = match horse {
            Some(id) => day::open_of_horse(db, id).await?,
            None => vec![],
        };
        let neighbours = match form.from.parse::<VisitId>() {
            Ok(from) => booking::horses_beside(db, from).await?,
            Err(_) => vec![],
        };
        Ok(WalkInPage {
            shell,
            errors: Errors::default(),
            form,
            q: String::new(),
            hits: vec![],
            neighbours,
            card,
            already,
            today: app.clock.now().day(&zone),
            zone,
        })
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Query(query): Query<WalkInQuery>,
) -> Result<Response> {
    let form = WalkInForm { from: query.from, ..WalkInForm::default() };
    let mut page = WalkInPage::new(&app, shell, query.horse.parse().ok(), form).await?;
    if !query.q.trim().is_empty() {
        page.hits = search::find(&app.db, &query.q, &[search::Kind::Horse], 12).await?;
    }
    page.q = query.q;
    Ok(page.into_response())
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(horse): Path<HorseId>,
    Form(form): Form<WalkInForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let card = horses::store::card(&mut *once.tx, horse).await?;
    let mut check = Check::new();
    let words = check.words("words", &form.words, 2000);
    if !card.status.is_seen() {
        let gone = card.gone_words().unwrap_or_default();
        check.errors.add("", format!("No visit can begin for {}. {gone}", card.name));
    }
    if !check.errors.is_empty() {
        drop(once);
        let page = WalkInPage::new(&app, shell, Some(horse), form).await?;
        return Ok(invalid(WalkInPage { errors: check.errors, ..page }));
    }
    let visit = start(&mut once, &card, &user, &form.from).await?;
    if !words.is_empty() {
        let complaint = NewComplaint { words, ..NewComplaint::default() };
        booking::add_complaint(&mut once.tx, visit, &complaint, once.now).await?;
    }
    once.commit(&format!("/visits/{visit}/exam")).await
}

/// Where the vet stands already, or else where the horse does.
async fn start(once: &mut Once, card: &Card, user: &User, from: &str) -> Result<VisitId> {
    let beside = match from.parse::<VisitId>() {
        Ok(id) => Some(store::get(&mut *once.tx, id).await?),
        Err(_) => None,
    };
    let yard = beside.as_ref().map_or(card.yard_id, |v| v.yard_id);
    let vet = if user.licensed { Some(user.id) } else { beside.and_then(|v| v.vet_id) };
    let new = NewVisit {
        id: VisitId::new(),
        horse: card.id,
        client: None,
        vet,
        place: if yard.is_some() { "yard" } else { "clinic" },
        yard,
        starts_at: once.now,
        minutes: USUAL_LENGTH,
        urgent: false,
        walk_in: true,
        stop: None,
        state: State::InHand,
    };
    store::insert(&mut once.tx, &new, user.id, once.now).await?;
    let change = NewChange { visit: new.id, what: "begun without a booking", detail: "", reason: "" };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    Ok(new.id)
}
