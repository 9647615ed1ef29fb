//! A shared stop on one page: each horse in turn with its visit, for the trot-up in the yard and on paper; and taking a
//! horse out of it.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State as FromApp, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    State, sheet,
    store::{
        self,
        changes::{self, NewChange},
        day::{self, Line},
        stop,
    },
};
use crate::{
    App,
    accounts::{Act, Can, User, act},
    biosecurity,
    clock::{At, Day},
    diagnostics,
    horses::{self, Card},
    ids::{StopId, VisitId},
    practice,
    web::{Begun, Conflict, Error, Form, Path, Result, Shell, begin, flash},
};

/// A horse in its turn.
struct Turn {
    line: Line,
    card: Card,
    open: Vec<String>,
    /// What is marked about the horse itself, each with where it is looked after.
    marks: Vec<(String, String)>,
    may_begin: bool,
    may_leave: bool,
}

#[derive(Template, WebTemplate)]
#[template(path = "visits/stop.html")]
pub(super) struct StopPage {
    shell: Shell,
    turns: Vec<Turn>,
    /// What is marked about the yard.
    marks: Vec<String>,
    place: String,
    vet: String,
    day: Day,
    from: At,
    until: At,
    /// A visit that moves the whole stop, while one is booked.
    moves: Option<VisitId>,
    today: Day,
    zone: TimeZone,
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::SeeDay>,
    shell: Shell,
    Path(id): Path<StopId>,
) -> Result<StopPage> {
    let db = app.db.read();
    let zone = practice::store::get(db).await?.zone;
    let lines = day::of_stop(db, id).await?;
    let first = lines.first().cloned().ok_or(Error::NotFound)?;
    let orders = if user.may(Act::SeeRecord) { diagnostics::store::undone(db).await? } else { Vec::new() };
    let moves = lines.iter().find(|line| line.state == State::Booked).map(|line| line.id);
    let until = lines.iter().map(Line::ends_at).max().unwrap_or(first.starts_at);
    let several = lines.len() > 1;
    let mut turns = Vec::new();
    for line in lines {
        turns.push(Turn::read(&app, line, &orders, (&user, several, &zone)).await?);
    }
    let day = first.starts_at.day(&zone);
    let marks = biosecurity::store::standing(db).await?;
    let marks = marks.of(None, first.yard_id, day).iter().map(|mark| mark.words()).collect();
    Ok(StopPage {
        shell,
        turns,
        marks,
        place: first.where_().to_owned(),
        vet: first.vet.clone().unwrap_or_else(|| "no vet yet".into()),
        day,
        from: first.starts_at,
        until,
        moves: moves.filter(|_| user.may(Act::Book)),
        today: app.clock.now().day(&zone),
        zone,
    })
}

impl Turn {
    async fn read(
        app: &App,
        line: Line,
        orders: &[diagnostics::Order],
        (user, several, zone): (&User, bool, &TimeZone),
    ) -> Result<Self> {
        let ahead = matches!(line.state, State::Booked | State::Arrived);
        let card = horses::store::card(app.db.read(), line.horse_id).await?;
        let day = line.starts_at.day(zone);
        let mut marks = card.marks(day);
        marks.retain(|(href, _)| href.starts_with("/horses/"));
        Ok(Turn {
            card,
            marks,
            open: sheet::open_words(app, &line, orders).await?,
            may_begin: ahead && user.may(Act::Examine),
            may_leave: several && line.state == State::Booked && user.may(Act::Book),
            line,
        })
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct LeaveForm {
    submission: String,
}

/// Takes a horse out of its stop. It keeps its time until somebody gives it another.
pub(super) async fn leave(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    Path(id): Path<VisitId>,
    Form(form): Form<LeaveForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let visit = store::get(&mut *once.tx, id).await?;
    if visit.state == State::Signed {
        return Err(Error::Signed);
    }
    if stop::take_out(&mut once.tx, id).await? == 0 {
        let clash = Conflict {
            what: "Whether this visit belongs to a stop".into(),
            back: format!("/visits/{id}"),
            ..Conflict::default()
        };
        return Err(Error::Conflict(Box::new(clash.field("State", "booked", &visit.state.to_string()))));
    }
    let change = NewChange { visit: id, what: "taken out of the stop", detail: "", reason: "" };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    flash(&mut once.tx, &user, "A visit of its own, at the time it had. Give it another one, or leave it.")
        .await?;
    once.commit(&format!("/visits/{id}/move")).await
}
