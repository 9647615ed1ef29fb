//! An exam entered under the wrong horse is moved whole, with a reason and a trace that stays on both horses.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Visit,
    store::{
        self,
        changes::{self, NewChange, TO_RIGHT_HORSE},
    },
};
use crate::{
    App,
    accounts::{Can, User, act},
    clock::Day,
    followups,
    horses::{self, Card},
    ids::{HorseId, VisitId},
    practice,
    record::{self, Body, Kind, NewEntry, Stamp},
    search,
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Once, Path, Query, Result, Shell, begin, flash, invalid,
    },
};

#[derive(Template, WebTemplate)]
#[template(path = "visits/wrong_horse.html")]
struct WrongHorsePage {
    shell: Shell,
    errors: Errors,
    form: MoveForm,
    visit_id: VisitId,
    visit: Visit,
    from: Card,
    to: Option<Card>,
    q: String,
    hits: Vec<search::Hit>,
    zone: TimeZone,
    today: Day,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct WrongHorseQuery {
    q: String,
    to: String,
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct MoveForm {
    submission: String,
    version: String,
    to: String,
    reason: String,
}

impl WrongHorsePage {
    async fn new(app: &App, shell: Shell, id: VisitId, form: MoveForm) -> Result<Self> {
        let db = app.db.read();
        let visit = store::get(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let to = match form.to.parse::<HorseId>() {
            Ok(to) if to != visit.horse_id => Some(horses::store::card(db, to).await?),
            _ => None,
        };
        Ok(WrongHorsePage {
            shell,
            errors: Errors::default(),
            form,
            visit_id: id,
            from: horses::store::card(db, visit.horse_id).await?,
            to,
            q: String::new(),
            hits: vec![],
            today: app.clock.now().day(&zone),
            zone,
            visit,
        })
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Query(query): Query<WrongHorseQuery>,
) -> Result<Response> {
    let form = MoveForm { to: query.to, ..MoveForm::default() };
    let mut page = WrongHorsePage::new(&app, shell, id, form).await?;
    page.form.version = page.visit.version.to_string();
    if !query.q.trim().is_empty() {
        page.hits = search::find(&app.db, &query.q, &[search::Kind::Horse], 12).await?;
        let own = page.visit.horse_id.to_string();
        page.hits.retain(|hit| hit.id != own);
    }
    page.q = query.q;
    Ok(page.into_response())
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<MoveForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let visit = store::get(&mut *once.tx, id).await?;
    let mut check = Check::new();
    let to = check.choice::<HorseId>("to", &form.to, "Choose the right horse.");
    let reason = check.needed("reason", &form.reason, 500, "Say how it came under the wrong horse.");
    let version = form.version.parse().unwrap_or(-1);
    if to == Some(visit.horse_id) && version != visit.version {
        let from = horses::store::card(&mut *once.tx, visit.horse_id).await?;
        return Err(stale(&visit, &from, &from));
    }
    if to == Some(visit.horse_id) {
        check.errors.add("to", "It is under this horse already.");
    }
    let Some(to) = to.filter(|_| check.errors.is_empty()) else {
        drop(once);
        let page = WrongHorsePage::new(&app, shell, id, form).await?;
        return Ok(invalid(WrongHorsePage { errors: check.errors, ..page }));
    };
    let to = horses::store::card(&mut *once.tx, to).await?;
    let from = horses::store::card(&mut *once.tx, visit.horse_id).await?;
    if store::change_horse(&mut once.tx, id, version, to.id).await? == 0 {
        return Err(stale(&visit, &to, &from));
    }
    trace(&mut once, &user, id, (&from, &to), &reason).await?;
    flash(&mut once.tx, &user, &format!("The whole visit stands under {} now.", to.name)).await?;
    once.commit(&format!("/visits/{id}")).await
}

/// What stays: a line in the visit's history, an entry in the record, and the follow-ups go along.
async fn trace(
    once: &mut Once,
    user: &User,
    id: VisitId,
    (from, to): (&Card, &Card),
    reason: &str,
) -> Result<()> {
    let detail = format!("from {} to {}", from.name, to.name);
    let change = NewChange { visit: id, what: TO_RIGHT_HORSE, detail: &detail, reason };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    let body = Body {
        from_horse: Some(from.id),
        to_horse: Some(to.id),
        reason: Some(reason.to_owned()),
        ..Body::new(Kind::Moved)
    };
    record::append(&mut once.tx, &Stamp::here(user.id, &user.agent, once.now), &[NewEntry::new(id, body)])
        .await?;
    followups::store::go_with_visit(&mut once.tx, id, to.id).await?;
    Ok(())
}

fn stale(visit: &Visit, to: &Card, from: &Card) -> Error {
    let clash = Conflict {
        what: "Which horse this visit belongs to".into(),
        back: format!("/visits/{}", visit.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash.field("Horse", &to.name, &from.name)))
}
