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
    record::{Body, Kind},
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
        .route("/visits/{id}/exam/entries/note", post(note))
        .route("/visits/{id}/exam/entries/discarded", post(discarded))
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

/// Nothing found from here down: only places that nobody spoke of, and only what a sweep may cover. A pair of limbs
/// is two sweeps, each to be undone by itself.
async fn sweep(tap: Tap) -> Result<Response> {
    let (part, sweeps) = match sweeps_of(&tap) {
        Ok(sweeps) => sweeps,
        Err(errors) => return tap.again(errors).await,
    };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let mut ids = tap.typed.sweep.iter().filter_map(|id| id.trim().parse().ok());
    for covered in sweeps {
        let sweep = ids.next().unwrap_or_else(SweepId::new);
        for place in super::view::open_of(&covered, &taking.state) {
            let mut body = form::nothing_at(place);
            body.sweep = Some(sweep);
            taking.say(body, None);
        }
    }
    if taking.is_empty() {
        taking.tell(&tap.user, "Every place that this would cover is recorded already.").await?;
    }
    taking.keep(&tap.user, &tap.way().at_part(part)).await
}

/// The sections that the form names, or the places from the one it names on.
fn sweeps_of(tap: &Tap) -> std::result::Result<(Part, Vec<Vec<Place>>), Errors> {
    let named: Vec<&str> = tap.typed.section.iter().map(|one| one.trim()).filter(|s| !s.is_empty()).collect();
    if named.is_empty() {
        let mut check = Check::new();
        let place = form::place(&mut check, &tap.typed).ok_or(check.errors)?;
        return Ok((Part::of(place), vec![sweep_from(place)]));
    }
    let sweeps: Vec<Vec<Place>> =
        named.iter().map(|one| one.parse::<Section>().map(sweep_places).unwrap_or_default()).collect();
    let parts: Vec<Part> =
        sweeps.iter().filter_map(|one| one.first().map(|place| Part::of(*place))).collect();
    match parts.as_slice() {
        [part] if named.len() == 1 => Ok((*part, sweeps)),
        [part, other] if part == other && named.len() == 2 && named[0] != named[1] => Ok((*part, sweeps)),
        _ => Err(Errors::one("section", "There is no such part of the horse.")),
    }
}

/// Takes back what these sweeps recorded and still stands, and nothing else.
async fn undo(tap: Tap) -> Result<Response> {
    let named: std::result::Result<Vec<SweepId>, _> =
        tap.typed.sweep.iter().map(|id| id.trim().parse()).collect();
    let Some(sweeps) = named.ok().filter(|sweeps| !sweeps.is_empty()) else {
        return tap.again(Errors::one("sweep", "Say which sweep to undo.")).await;
    };
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let swept: Vec<_> = sweeps.into_iter().flat_map(|sweep| taking.of_sweep(sweep)).collect();
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

/// Words that have no place of their own: what a form said that could not be taken as it was.
async fn note(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let words = check.needed_words("note", &tap.typed.note, form::LONGEST_NOTE, "Say what is to be noted.");
    if !check.errors.is_empty() {
        return tap.again(check.errors).await;
    }
    let mut taking = match tap.open().await? {
        Ok(taking) => taking,
        Err(answer) => return Ok(answer),
    };
    let mut body = Body::new(Kind::Note);
    body.text = Some(words);
    taking.say(body, None);
    taking.keep(&tap.user, &tap.way().plain()).await
}

/// What a tablet kept and somebody threw away: no entry, but the visit's own history says who, when and why.
async fn discarded(tap: Tap) -> Result<Response> {
    let mut check = Check::new();
    let words = check.needed_words("note", &tap.typed.note, form::LONGEST_NOTE, "Say what is discarded.");
    let reason = form::reason(&mut check, &tap.typed, "Say why it is discarded.");
    if !check.errors.is_empty() {
        return tap.again(check.errors).await;
    }
    tap.discard(&words, &reason).await
}
