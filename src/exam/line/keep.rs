//! Confirmed entries on their way into the record: a sweep covers only what nobody spoke of, a measure or a grade
//! corrects the one that stands, and a flexion stops where a caution stops it.

use super::rows::Confirmed;
use crate::{
    App,
    catalogue::Place,
    exam::{
        movement::{self, cautions::Raised},
        state::place_of,
        tap::Taking,
        view,
    },
    ids::{StaffId, SweepId},
    practice,
    record::{Body, Kind},
    web::{Errors, Result},
};

/// Takes all entries, or says why none was taken.
pub(super) async fn all(
    taking: &mut Taking,
    confirmed: Vec<Confirmed>,
    app: &App,
    by: StaffId,
) -> Result<std::result::Result<(), Errors>> {
    let flexes = confirmed.iter().flatten().any(|body| body.kind == Kind::Flexion);
    if flexes && let Some(stop) = movement::flexion_stops(taking.writing()).await?.first() {
        return Ok(Err(stopped(stop)));
    }
    let mut weighed = None;
    for bodies in confirmed {
        if bodies.len() > 1 && bodies.iter().all(|body| body.kind == Kind::Place) {
            sweep(taking, bodies);
            continue;
        }
        for mut body in bodies {
            if body.code.as_deref() == Some("weight_kg") {
                weighed = body.value.take();
            }
            one(taking, body);
        }
    }
    if let Some(method) = weighed {
        let zone = practice::store::get(app.db.read()).await?.zone;
        taking.keep_weights(&method, &zone, by).await?;
    }
    Ok(Ok(()))
}

fn stopped(stop: &Raised) -> Errors {
    Errors::one(
        "line",
        format!(
            "Flexion is stopped: {}. Give the reason in the flexion section to go on all the same.",
            stop.name
        ),
    )
}

/// "Nothing found" over several places is one gesture, and says nothing over what was said.
fn sweep(taking: &mut Taking, bodies: Vec<Body>) {
    let sweep = SweepId::new();
    let covered: Vec<Place> = bodies.iter().filter_map(place_of).collect();
    let open = view::open_of(&covered, &taking.state);
    for mut body in bodies {
        if place_of(&body).is_some_and(|place| open.contains(&place)) {
            body.sweep = Some(sweep);
            taking.say(body, None);
        }
    }
}

fn one(taking: &mut Taking, body: Body) {
    match body.kind {
        Kind::Finding => {
            let instead = place_of(&body).map(|place| taking.emptiness_at(place)).unwrap_or_default();
            taking.say_instead(body, &instead, "a finding stands here");
        }
        Kind::Place => sweep(taking, vec![body]),
        Kind::Vital | Kind::Gait | Kind::Flexion => {
            let (kind, code, limb) = (body.kind, body.code.clone(), body.limb.clone());
            taking.say_about(body, move |said| said.kind == kind && said.code == code && said.limb == limb);
        }
        _ => taking.say(body, None),
    }
}
