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
    How, Source, folder,
    join::{self, View},
    store::objects::{self, Arrival, Match},
};
use crate::{
    App,
    accounts::{Can, act},
    diagnostics,
    ids::{ArrivalId, OrderId},
    practice,
    search::{self, Hit, Kind},
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Path, Query, Result, Shell, begin, flash, invalid,
        repeated,
    },
};

/// So many objects are looked at for one page; the rest follow as these are worked off.
const LOOKED_AT: i64 = 2000;
/// So many horses are offered; more are told apart by typing more.
const OFFERED: usize = 7;
pub(super) const TRAY: &str = "/diagnostics/arrivals";

/// Objects of one study, sent together: they go to one order together.
#[derive(Debug)]
struct Group {
    first: Arrival,
    rest: Vec<Arrival>,
}

impl Group {
    /// Of the objects that wait, those that belong together. One whose UID stands for two different objects is looked
    /// at by itself.
    fn all(waiting: Vec<Arrival>) -> Vec<Group> {
        let mut groups: Vec<Group> = Vec::new();
        for arrival in waiting {
            let with = groups.iter_mut().find(|group| group.first.goes_with(&arrival));
            match with {
                Some(group) => group.rest.push(arrival),
                None => groups.push(Group { first: arrival, rest: Vec::new() }),
            }
        }
        groups
    }

    fn ids(&self) -> Vec<ArrivalId> {
        std::iter::once(&self.first).chain(&self.rest).map(|arrival| arrival.id).collect()
    }

    fn count_words(&self) -> String {
        match self.rest.len() {
            0 => "1 picture".into(),
            n => format!("{} pictures", n + 1),
        }
    }
}

impl Arrival {
    fn goes_with(&self, other: &Arrival) -> bool {
        !self.study_uid.is_empty()
            && self.study_uid == other.study_uid
            && self.under_uid == 1
            && other.under_uid == 1
    }

    /// Whom the equipment means, as a person reads it.
    pub(super) fn patient(&self) -> String {
        let name: Vec<&str> = self.patient_name.split(['^', '=']).filter(|part| !part.is_empty()).collect();
        if name.is_empty() { "no name".into() } else { name.join(", ") }
    }

    /// The name of the horse in it, to look it up by: the second part of an animal's name (PS3.5 6.2).
    fn horse_name(&self) -> &str {
        let mut parts = self.patient_name.split('^');
        let first = parts.next().unwrap_or_default();
        parts.next().filter(|horse| !horse.is_empty()).unwrap_or(first)
    }

    /// What it shows: `DX FOREFETLOCK L LM`.
    pub(super) fn shows(&self) -> String {
        let view = if self.view_position.is_empty() { &self.view_name } else { &self.view_position };
        let parts = [&self.modality, &self.body_part, &self.laterality, view];
        parts.into_iter().filter(|part| !part.is_empty()).cloned().collect::<Vec<_>>().join(" ")
    }

    pub(super) fn from(&self) -> String {
        match self.source {
            Source::Network => format!("from {}", self.calling_ae),
            Source::Upload => format!("sent by hand, {}", self.calling_ae),
            Source::Folder => format!("out of the folder, {}", self.calling_ae),
        }
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "imaging/tray.html")]
struct TrayPage {
    shell: Shell,
    errors: Errors,
    groups: Vec<Group>,
    /// More wait than were looked at.
    more: bool,
    unreadable: Vec<folder::Unreadable>,
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
    form: DecideForm,
    found: Vec<Hit>,
    offers: Vec<Offer>,
    zone: TimeZone,
}

impl ArrivalPage {
    async fn new(app: &App, shell: Shell, id: ArrivalId, form: DecideForm) -> Result<Self> {
        let db = app.db.read();
        let group = group_of(app, id).await?.ok_or(Error::NotFound)?;
        let found = search::find(&app.db, form.horse.trim(), &[Kind::Horse], OFFERED).await?;
        let offers = offers(app, &found).await?;
        let zone = practice::store::get(db).await?.zone;
        Ok(ArrivalPage { shell, errors: Errors::default(), group, form, found, offers, zone })
    }

    fn options(&self) -> Vec<(String, &str)> {
        self.offers.iter().map(|offer| (offer.id.to_string(), offer.words.as_str())).collect()
    }
}

/// The waiting objects that belong together with this one.
async fn group_of(app: &App, id: ArrivalId) -> Result<Option<Group>> {
    let Some(first) = objects::get_waiting(app.db.read(), id).await? else { return Ok(None) };
    let waiting = objects::waiting(app.db.read(), LOOKED_AT).await?;
    let rest = waiting.into_iter().filter(|other| other.id != id && first.goes_with(other)).collect();
    Ok(Some(Group { first, rest }))
}

/// The open orders of these horses that equipment works off.
async fn offers(app: &App, horses: &[Hit]) -> Result<Vec<Offer>> {
    let undone = diagnostics::store::undone(app.db.read()).await?;
    let offers = undone.into_iter().filter(|order| order.kind.modality().is_some()).filter_map(|order| {
        let horse = horses.iter().find(|hit| hit.id == order.horse_id.to_string())?;
        let planned = order.planned_on.map_or_else(|| "no day yet".into(), |day| day.words());
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
    let horse = match asked.horse {
        Some(horse) => horse,
        None => {
            let arrival = objects::get_waiting(app.db.read(), id).await?.ok_or(Error::NotFound)?;
            arrival.horse_name().to_owned()
        }
    };
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
    let Some(group) = group_of(&app, id).await? else { return Err(gone()) };
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
    let Some(group) = group_of(&app, id).await? else { return Err(gone()) };
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
fn gone() -> Error {
    let clash = Conflict { what: "What came in".into(), back: TRAY.into(), ..Conflict::default() };
    Error::Conflict(Box::new(clash))
}
