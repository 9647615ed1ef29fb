//! Taking a better order of a day: every visit that moves gets its time, or none does.

use axum::{extract::State, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::store;
use crate::{
    App,
    accounts::{Can, act},
    clock::At,
    ids::{StaffId, VisitId},
    practice,
    visits::{
        self,
        store::changes::{self, NewChange},
    },
    web::{Begun, Conflict, Error, Form, Once, Result, begin, flash},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct RouteForm {
    submission: String,
    vet: String,
    #[serde(rename = "move")]
    moves: Vec<String>,
}

/// A visit that gets another time.
struct Move {
    visit: VisitId,
    version: i64,
    at: At,
}

impl RouteForm {
    fn read(&self) -> Option<(StaffId, Vec<Move>)> {
        let one = |text: &String| {
            let mut parts = text.split('@');
            let (visit, version, at) = (parts.next()?, parts.next()?, parts.next()?);
            Some(Move {
                visit: visit.parse().ok()?,
                version: version.parse().ok()?,
                at: At(at.parse().ok()?),
            })
        };
        let moves: Vec<Move> = self.moves.iter().map(one).collect::<Option<_>>()?;
        Some((self.vet.parse().ok()?, moves)).filter(|(_, moves)| !moves.is_empty())
    }
}

/// Takes the better order: every visit that moves gets its time, or none does.
pub(super) async fn accept(
    Can { user, .. }: Can<act::Book>,
    State(app): State<App>,
    Form(form): Form<RouteForm>,
) -> Result<Response> {
    let (vet, moves) =
        form.read().ok_or_else(|| Error::BadRequest("This order of the day cannot be read".into()))?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let told = retime(&mut once, vet, &moves, (user.id, &zone)).await?;
    flash(
        &mut once.tx,
        &user,
        &format!("The day is driven in the better order. Tell the callers: {}.", told.join("; ")),
    )
    .await?;
    let day = moves.first().map_or(once.now, |one| one.at).day(&zone);
    let today = once.now.day(&zone);
    once.commit(&if day == today { "/".to_owned() } else { format!("/?day={day}") }).await
}

/// Gives every visit its new time; says who has to be told.
async fn retime(
    once: &mut Once,
    vet: StaffId,
    moves: &[Move],
    (by, zone): (StaffId, &TimeZone),
) -> Result<Vec<String>> {
    let mut before = Vec::new();
    for one in moves {
        let visit = visits::store::get(&mut *once.tx, one.visit).await?;
        let same_day = visit.starts_at.day(zone) == one.at.day(zone);
        if visit.vet_id != Some(vet) || visit.version != one.version || !same_day {
            return Err(changed());
        }
        before.push(visit.starts_at);
        store::set_aside(&mut once.tx, one.visit).await?;
    }
    let mut told = Vec::new();
    for (one, was) in moves.iter().zip(before) {
        if store::retime(&mut once.tx, one.visit, one.version, one.at).await? == 0 {
            return Err(changed());
        }
        match store::give_back(&mut once.tx, one.visit, vet).await {
            Err(error) if visits::store::is_overlap(&error) => return Err(changed()),
            given => given?,
        }
        let line = visits::store::day::line(&mut *once.tx, one.visit).await?;
        let (from, to) = (was.hm(zone), one.at.hm(zone));
        let detail = format!("from {from} to {to}");
        let change = NewChange {
            visit: one.visit,
            what: "moved",
            detail: &detail,
            reason: "a better order of the day",
        };
        changes::note(&mut once.tx, change, by, once.now).await?;
        told.push(format!("{} {from} → {to}", line.horse));
    }
    Ok(told)
}

fn changed() -> Error {
    let clash = Conflict {
        what: "The day has changed since this order was found: look at it again".into(),
        back: "/".into(),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash))
}
