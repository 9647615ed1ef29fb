//! Drives that were made: one vet drives off from a visit and arrives at the next one on the same day.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{
    planner::PRACTICE,
    store::{self, Made},
};
use crate::{
    App,
    accounts::{Can, act},
    biosecurity,
    clock::At,
    db::Tx,
    ids::VisitId,
    practice,
    visits::{self, Visit},
    web::{Begun, Error, Form, Result, begin, flash},
};

/// A drive that takes longer was broken by something else.
const LONGEST_MIN: i64 = 300;

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct LeftForm {
    submission: String,
    visit: String,
}

/// Notes that the vet drives off now.
pub(super) async fn left(
    Can { user, .. }: Can<act::Book>,
    State(app): State<App>,
    Form(form): Form<LeftForm>,
) -> Result<Response> {
    let id: VisitId = form.visit.parse().map_err(|_| Error::NotFound)?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let visit = visits::store::get(&mut *once.tx, id).await?;
    let vet = visit.vet_id.ok_or_else(|| Error::BadRequest("No vet has this visit".into()))?;
    store::leave(&mut once.tx, id, vet, once.now).await?;
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let yard = visit.yard_id.filter(|_| visit.place == "yard");
    let marks = biosecurity::store::standing(&mut *once.tx).await?;
    let marked = marks.cover(Some(visit.horse_id), yard, once.now.day(&zone));
    let first = if marked { " From a marked stop: clean and disinfect before the next yard." } else { "" };
    flash(&mut once.tx, &user, &format!("Noted: on the road since {}.{first}", once.now.hm(&zone))).await?;
    once.commit(&format!("/visits/{id}")).await
}

/// Logs the drive to a visit that the vet has just arrived at, if it is known where and when it began.
pub async fn arrived(tx: &mut Tx, visit: &Visit, now: At) -> Result<()> {
    let Some(vet) = visit.vet_id else { return Ok(()) };
    let zone = practice::store::get(&mut **tx).await?.zone;
    let morning = now.day(&zone).start(&zone);
    let Some((from, left_at)) = store::left_last(&mut **tx, vet, morning, now).await? else { return Ok(()) };
    let from = key(&visits::store::get(&mut **tx, from).await?);
    let (to, minutes) = (key(visit), now.minutes_since(left_at));
    if let (Some(from), Some(to)) = (from, to)
        && from != to
        && (1..=LONGEST_MIN).contains(&minutes)
    {
        let made = Made { visit: visit.id, vet, from: &from, to: &to, minutes, arrived_at: now };
        store::log_drive(tx, &made).await?;
    }
    Ok(())
}

/// The key of a visit's place; none where nobody said which yard.
fn key(visit: &Visit) -> Option<String> {
    if visit.place == "yard" { visit.yard_id.map(|id| id.to_string()) } else { Some(PRACTICE.to_owned()) }
}
