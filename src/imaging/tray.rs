//! The tray: what came in and belongs to no order yet, and the one thing a person decides about it.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    How, folder,
    group::{Group, LOOKED_AT},
    join::{self, View},
    store::{
        decided::{self, Decided, TakenBack},
        objects::{self, Match},
    },
};
use crate::{
    App,
    accounts::{Can, act},
    clock::Day,
    diagnostics,
    ids::{ArrivalId, OrderId},
    practice,
    search::{self, Hit, Kind},
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid,
        repeated,
    },
};

/// So many horses are offered; more are told apart by typing more.
const OFFERED: usize = 7;
/// So many of what was set aside are listed.
const ASIDE: i64 = 50;
pub(super) const TRAY: &str = "/diagnostics/arrivals";

#[derive(Template, WebTemplate)]
#[template(path = "imaging/tray.html")]
struct TrayPage {
    shell: Shell,
    errors: Errors,
    groups: Vec<Group>,
    /// More wait than were looked at.
    more: bool,
    unreadable: Vec<folder::Unreadable>,
    /// What was set aside lately.
    aside: Vec<Decided>,
    zone: TimeZone,
}

impl TrayPage {
    async fn new(app: &App, shell: Shell, errors: Errors) -> Result<Self> {
        let db = app.db.read();
        let waiting = objects::waiting(db, LOOKED_AT).await?;
        Ok(TrayPage {
            shell,
            errors,
            more: objects::count_waiting(db).await? > LOOKED_AT,
            groups: Group::all(waiting),
            unreadable: folder::unreadable(app.db.folder()).await,
            aside: decided::set_aside(db, ASIDE).await?,
            zone: practice::store::get(db).await?.zone,
        })
    }
}

pub(super) async fn page(FromApp(app): FromApp<App>, _: Can<act::Examine>, shell: Shell) -> Result<Response> {
    Ok(TrayPage::new(&app, shell, Errors::default()).await?.into_response())
}

/// The tray again, with what is wrong about the files that were sent.
pub(super) async fn refused(app: &App, shell: Shell, errors: Errors) -> Result<Response> {
    Ok(invalid(TrayPage::new(app, shell, errors).await?))
}

/// An order that pictures may belong to.
struct Offer {
    id: OrderId,
    words: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "imaging/arrival.html")]
struct ArrivalPage {
    shell: Shell,
    errors: Errors,
    group: Group,
    /// What was decided about it before and taken back.
    before: Vec<TakenBack>,
    form: DecideForm,
    found: Vec<Hit>,
    offers: Vec<Offer>,
    zone: TimeZone,
}

impl ArrivalPage {
    async fn new(app: &App, shell: Shell, id: ArrivalId, form: DecideForm) -> Result<Self> {
        let db = app.db.read();
        let group = Group::of(app, id).await?.ok_or(Error::NotFound)?;
        let found = search::find(&app.db, form.horse.trim(), &[Kind::Horse], OFFERED).await?;
        let offers = offers(app, &found).await?;
        let before = decided::taken_back(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        Ok(ArrivalPage { shell, errors: Errors::default(), group, before, form, found, offers, zone })
    }

    fn options(&self) -> Vec<(String, &str)> {
        self.offers.iter().map(|offer| (offer.id.to_string(), offer.words.as_str())).collect()
    }
}

/// The open orders of these horses that equipment works off.
async fn offers(app: &App, horses: &[Hit]) -> Result<Vec<Offer>> {
    let undone = diagnostics::store::undone(app.db.read()).await?;
    let offers = undone.into_iter().filter(|order| order.kind.modality().is_some()).filter_map(|order| {
        let horse = horses.iter().find(|hit| hit.id == order.horse_id.to_string())?;
        let planned = order.planned_on.map_or_else(|| "no day yet".into(), Day::words);
        let words = format!("{}: {}, {} ({planned})", horse.title, order.name, order.accession);
        Some(Offer { id: order.id, words })
    });
    Ok(offers.collect())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Asked {
    horse: Option<String>,
}

pub(super) async fn arrival(
    FromApp(app): FromApp<App>,
    _: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Query(asked): Query<Asked>,
) -> Result<Response> {
    let arrival = objects::get_waiting(app.db.read(), id).await?.ok_or(Error::NotFound)?;
    let horse = asked.horse.unwrap_or_else(|| arrival.horse_name().to_owned());
    Ok(ArrivalPage::new(&app, shell, id, DecideForm { horse, ..DecideForm::default() })
        .await?
        .into_response())
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct DecideForm {
    submission: String,
    horse: String,
    order: String,
    reason: String,
}

pub(super) async fn match_it(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Form(form): Form<DecideForm>,
) -> Result<Response> {
    if let Some(answer) = repeated(&app, &form.submission).await? {
        return Ok(answer);
    }
    let mut check = Check::new();
    let order: Option<OrderId> = check.choice("order", &form.order, "Choose the order that they belong to.");
    let undone = diagnostics::store::undone(app.db.read()).await?;
    let order = order.and_then(|id| undone.into_iter().find(|order| order.id == id));
    if order.is_none() && check.errors.is_empty() {
        check.errors.add("order", "This order is not open any more. Choose another one.");
    }
    let Some(group) = Group::of(&app, id).await? else { return Err(gone()) };
    let Some(order) = order else {
        let page = ArrivalPage::new(&app, shell, id, form).await?;
        return Ok(invalid(ArrivalPage { errors: check.errors, ..page }));
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    for arrival in std::iter::once(&group.first).chain(&group.rest) {
        let items = diagnostics::store::items(&mut *once.tx, order.id).await?;
        let item = join::item_of(View::from(arrival), &items).map(|item| item.id);
        let to = Match { order: order.id, item, how: How::Person, by: Some(user.id) };
        if objects::set_match(&mut once.tx, arrival.id, &to, once.now).await? == 0 {
            return Err(gone());
        }
    }
    let what = format!("{} matched by hand", group.count_words());
    diagnostics::store::step(&mut once.tx, order.id, &what, "", user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("{} went to {}.", group.count_words(), order.name)).await?;
    once.commit(TRAY).await
}

pub(super) async fn set_aside(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<ArrivalId>,
    Form(form): Form<DecideForm>,
) -> Result<Response> {
    if let Some(answer) = repeated(&app, &form.submission).await? {
        return Ok(answer);
    }
    let mut check = Check::new();
    let reason = check.needed("reason", &form.reason, 500, "Say why they belong to no order.");
    let Some(group) = Group::of(&app, id).await? else { return Err(gone()) };
    if !check.errors.is_empty() {
        let page = ArrivalPage::new(&app, shell, id, form).await?;
        return Ok(invalid(ArrivalPage { errors: check.errors, ..page }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    for arrival in group.ids() {
        if objects::set_aside(&mut once.tx, arrival, &reason, user.id, once.now).await? == 0 {
            return Err(gone());
        }
    }
    flash(&mut once.tx, &user, &format!("{} set aside.", group.count_words())).await?;
    once.commit(TRAY).await
}

/// Somebody else has decided about it meanwhile.
pub(super) fn gone() -> Error {
    let clash = Conflict { what: "What came in".into(), back: TRAY.into(), ..Conflict::default() };
    Error::Conflict(Box::new(clash))
}
