//! The taps on places: each is one form, one transaction, one or more entries.

use axum::{Router, response::Response, routing::post};

use super::{
    form,
    sections::Part,
    state::place_of,
    tap::{Taking, Tap},
};
use crate::{
    App,
    catalogue::{Place, Section, sweep_from, sweep_places},
    ids::{EntryId, SweepId},
    web::{Check, Error, Errors, Result},
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/exam/entries/nothing", post(nothing))
        .route("/visits/{id}/exam/entries/sweep", post(sweep))
        .route("/visits/{id}/exam/entries/undo", post(undo))
        .route("/visits/{id}/exam/entries/finding", post(finding))
        .route("/visits/{id}/exam/entries/withdraw", post(withdraw))
        .route("/visits/{id}/exam/entries/barred", post(barred))
}

/// Nothing found at one place.
async fn nothing(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let Some(place) = form::place(&mut check, &tap.typed) else { return tap.again(check.errors).await };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let barred: Vec<EntryId> = taking.state.at(place).barred.iter().map(|line| line.entry).collect();
    taking.say_instead(form::nothing_at(place), &barred, "examined after all");
    taking.keep(&tap.user, &tap.way().at_part(Part::of(place))).await
}

/// Nothing found from here down: only places that nobody spoke of, and only what a sweep may cover.
async fn sweep(tap: Tap) -> Result<Response> {
    let (part, covered) = match sweep_of(&tap) {
        Ok(sweep) => sweep,
        Err(errors) => return tap.again(errors).await,
    };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let sweep = SweepId::new();
    for place in super::view::open_of(&covered, &taking.state) {
        let mut body = form::nothing_at(place);
        body.sweep = Some(sweep);
        taking.say(body, None);
    }
    if taking.is_empty() {
        taking.tell(&tap.user, "Every place that this would cover is recorded already.").await?;
    }
    taking.keep(&tap.user, &tap.way().at_part(part)).await
}

/// The whole section that the form names, or the places from the one it names on.
fn sweep_of(tap: &Tap) -> std::result::Result<(Part, Vec<Place>), Errors> {
    let named = tap.typed.section.trim();
    if named.is_empty() {
        let mut check = Check::new();
        let place = form::place(&mut check, &tap.typed).ok_or(check.errors)?;
        return Ok((Part::of(place), sweep_from(place)));
    }
    let covered = named.parse::<Section>().map(sweep_places).unwrap_or_default();
    match covered.first() {
        Some(first) => Ok((Part::of(*first), covered)),
        None => Err(Errors::one("section", "There is no such part of the horse.")),
    }
}

/// Takes back what one sweep recorded and still stands, and nothing else.
async fn undo(tap: Tap) -> Result<Response> {
    let Ok(sweep) = tap.typed.sweep.trim().parse::<SweepId>() else {
        return tap.again(Errors::one("sweep", "Say which sweep to undo.")).await;
    };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let swept = taking.of_sweep(sweep);
    for (entry, _) in &swept {
        taking.withdraw(*entry, "sweep undone");
    }
    let part = swept.iter().find_map(|(_, place)| *place).map(Part::of);
    let way = tap.way();
    taking.keep(&tap.user, &part.map_or_else(|| way.plain(), |part| way.at_part(part))).await
}

/// A finding, an item of the foot, a response to the testers: new, or instead of what was said before.
async fn finding(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let was: Option<EntryId> = form::id(&mut check, "was", &tap.typed.was);
    let why = check.line("reason", &tap.typed.reason, form::LONGEST_REASON);
    let (place, mut body) = match check.done(()).and_then(|()| form::finding(&tap.typed)) {
        Ok(read) => read,
        Err(errors) => return tap.again(errors).await,
    };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let mut instead = Vec::new();
    if let Some(was) = was {
        let before = taking.standing(was, &super::say::entry(&body)).await?;
        if before.body.as_ref().and_then(place_of) != Some(place) {
            return Err(Error::BadRequest("The entry to correct is of another place".into()));
        }
        body.reason = Some(if why.is_empty() { "more detail".to_owned() } else { why });
        instead.push(was);
    }
    instead.extend(taking.emptiness_at(place));
    taking.say_instead(body, &instead, "a finding stands here");
    taking.keep(&tap.user, &tap.way().open(place)).await
}

/// Takes one entry back, with the reason.
async fn withdraw(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let reason = form::reason(&mut check, &tap.typed, "Say why it is taken back.");
    let was: Option<EntryId> = form::id(&mut check, "was", &tap.typed.was);
    let Some(was) = was.filter(|_| check.errors.is_empty()) else { return tap.again(check.errors).await };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let before = taking.standing(was, "taken back").await?;
    taking.withdraw(was, &reason);
    let place = before.body.as_ref().and_then(place_of);
    let way = tap.way();
    taking.keep(&tap.user, &place.map_or_else(|| way.plain(), |place| way.open(place))).await
}

/// A place that could not be examined, and why.
async fn barred(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let place = form::place(&mut check, &tap.typed);
    let why = form::reason(&mut check, &tap.typed, "Say why it could not be examined.");
    let Some(place) = place.filter(|_| check.errors.is_empty()) else { return tap.again(check.errors).await };
    let mut taking: Taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    taking.say(form::barred_at(place, &why), None);
    taking.keep(&tap.user, &tap.way().at_part(Part::of(place))).await
}
