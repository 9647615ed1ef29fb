//! Confirmed entries on their way into the record: a sweep covers only what nobody spoke of, a second answer corrects
//! the one that stands, and a flexion goes on over a caution only with a reason.

use super::rows::Confirmed;
use crate::{
    App,
    accounts::User,
    catalogue::{Place, Where},
    exam::{
        movement::{self, Raised},
        state::place_of,
        tap::Taking,
        view,
    },
    ids::{EntryId, SweepId},
    practice,
    record::{Body, Entry, Kind},
    web::{Check, Error, Errors, Result},
};

/// The `value` of a note that is a whole line which nobody could read yet.
pub(super) const NOT_READ: &str = "not_read";
/// The reason for going on with a flexion, as the form names it.
pub(super) const REASON: &str = "line_reason";

/// Takes all entries, or says why none was taken.
pub(super) async fn all(
    taking: &mut Taking,
    confirmed: Confirmed,
    app: &App,
    user: &User,
) -> Result<std::result::Result<(), Errors>> {
    let Confirmed { line, rows, reason, was } = confirmed;
    let bodies: Vec<Body> = rows.iter().flatten().cloned().collect();
    if bodies.iter().any(|body| body.kind == Kind::Flexion) {
        match passing(&movement::flexion_stops(taking.writing(), &bodies).await?, &reason) {
            Ok(passed) => {
                for body in passed {
                    taking.say(body, None);
                }
            }
            Err(errors) => return Ok(Err(errors)),
        }
    }
    if let Some(was) = was {
        read_since(taking, was, &line).await?;
    }
    let mut weighed = None;
    for mut bodies in rows {
        for body in bodies.iter_mut().filter(|body| body.kind == Kind::Vital) {
            weighed = body.value.take().or(weighed);
        }
        if bodies.len() > 1 && bodies.iter().all(|body| body.kind == Kind::Place) {
            sweep(taking, bodies);
        } else if bodies.iter().any(|body| body.kind == Kind::Reading) {
            answered(taking, bodies);
        } else {
            for body in bodies {
                one(taking, body);
            }
        }
    }
    if let Some(method) = weighed {
        let zone = practice::store::get(app.db.read()).await?.zone;
        taking.keep_weights(&method, &zone, user.id).await?;
    }
    Ok(Ok(()))
}

/// The entries that say why flexion goes on over what stops it.
fn passing(stops: &[Raised], reason: &str) -> std::result::Result<Vec<Body>, Errors> {
    let Some(first) = stops.first() else { return Ok(Vec::new()) };
    let missing =
        format!("Flexion is stopped: {}. Write why it is done all the same, or strike it.", first.name);
    let mut check = Check::new();
    let reason = check.needed_words(REASON, reason, 500, &missing);
    check.done(stops.iter().map(|stop| stop.passed_with(Where::Flexion, &reason)).collect())
}

/// A line that was kept unread is taken back by its reading; somebody else may have read it meanwhile.
async fn read_since(taking: &mut Taking, was: EntryId, line: &str) -> Result<()> {
    let entry = taking.standing(was, line).await?;
    waiting(&entry).ok_or(Error::NotFound)?;
    taking.withdraw(was, "read since");
    Ok(())
}

/// The line that an entry keeps until it is read.
pub(super) fn waiting(entry: &Entry) -> Option<&str> {
    let body = entry.body.as_ref()?;
    body.text.as_deref().filter(|_| body.kind == Kind::Note && body.value.as_deref() == Some(NOT_READ))
}

/// Whether two entries answer the same question, so that the later corrects the earlier.
pub(super) fn is_about(said: &Body, body: &Body) -> bool {
    let same = said.kind == body.kind && said.code == body.code;
    same && match body.kind {
        Kind::Finding => said.same_place(body) && said.aspect == body.aspect,
        Kind::Vital => true,
        Kind::Gait | Kind::Flexion => said.limb == body.limb,
        _ => false,
    }
}

/// "Nothing found" over several places is one gesture, and says nothing over what was said.
fn sweep(taking: &mut Taking, bodies: Vec<Body>) {
    let sweep = SweepId::new();
    for body in still_open(taking, bodies) {
        taking.say(Body { sweep: Some(sweep), ..body }, None);
    }
}

/// A block with its answer. The answer belongs to the block that stands in the record, where the line says no more of
/// the block than that; else the line tells of a block as well.
fn answered(taking: &mut Taking, bodies: Vec<Body>) {
    let (readings, blocks): (Vec<Body>, Vec<Body>) =
        bodies.into_iter().partition(|body| body.kind == Kind::Reading);
    let mut about = None;
    for block in blocks {
        let same =
            |said: &Body| said.kind == Kind::Block && said.code == block.code && said.limb == block.limb;
        let standing = taking.writing().standing(same).map(|entry| entry.id);
        about = standing.filter(|_| block.given.is_none());
        if about.is_none() {
            about = Some(taking.say(block, None));
        }
    }
    for reading in readings {
        taking.say(Body { about, ..reading }, None);
    }
}

fn still_open(taking: &Taking, bodies: Vec<Body>) -> Vec<Body> {
    let covered: Vec<Place> = bodies.iter().filter_map(place_of).collect();
    let open = view::open_of(&covered, &taking.state);
    bodies.into_iter().filter(|body| place_of(body).is_some_and(|place| open.contains(&place))).collect()
}

fn one(taking: &mut Taking, body: Body) {
    match body.kind {
        Kind::Finding => {
            let Some(place) = place_of(&body) else { return };
            let known = taking.state.at(place);
            let said = known.lines().into_iter().rev().find(|line| is_about(&line.body, &body));
            let instead: Vec<EntryId> =
                said.map(|line| line.entry).into_iter().chain(taking.emptiness_at(place)).collect();
            taking.say_instead(body, &instead, "a finding stands here");
        }
        Kind::Place => {
            for body in still_open(taking, vec![body]) {
                taking.say(body, None);
            }
        }
        Kind::Vital | Kind::Gait | Kind::Flexion => {
            let about = body.clone();
            taking.say_about(body, move |said| is_about(said, &about));
        }
        _ => {
            taking.say(body, None);
        }
    }
}
