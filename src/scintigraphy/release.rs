//! The release: the gate is judged once more under the lock, and an officer signs with the password.

use axum::{Extension, extract::State as FromApp, response::Response};
use serde::Deserialize;

use super::{
    forms::Typed,
    gate::{self, Judged},
    page,
    scene::Scene,
    work::{append, body, clash, done},
};
use crate::{
    App,
    accounts::{self, Can, User, act},
    diagnostics::store as orders,
    ids::OrderId,
    papers::scan::hours,
    record::{NewEntry, Scan, scan::Release},
    web::{Begun, Errors, Form, Path, Peer, Result, Shell, begin, repeated},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ReleaseForm {
    submission: String,
    password: String,
}

pub(super) async fn release(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Release>,
    Path(id): Path<OrderId>,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<ReleaseForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let scene = Scene::load(&app, id).await?;
    must_not_be_released(&scene)?;
    let mut errors = shut(&scene, &user);
    if errors.is_empty() && !accounts::confirm(&app, &user, peer, &form.password).await? {
        errors.add("password", "This is not your password. A PIN does not sign.");
    }
    if !errors.is_empty() {
        return page::again(&app, shell, id, Typed::fresh(&scene), errors).await;
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    // Read again under the lock: from here to the commit nobody else can write.
    let scene = Scene::load(&app, id).await?;
    must_not_be_released(&scene)?;
    let errors = shut(&scene, &user);
    let (true, Some(entry)) = (errors.is_empty(), signed(&scene)) else {
        drop(once);
        return page::again(&app, shell, id, Typed::fresh(&scene), errors).await;
    };
    append(&mut once, &user, entry).await?;
    let now = once.now;
    orders::step(&mut once.tx, id, "released after the scan", "", user.id, now).await?;
    done(once, &user, &scene, &format!("{} may leave.", scene.card.name)).await
}

fn must_not_be_released(scene: &Scene) -> Result<()> {
    if scene.release().is_some() {
        return Err(clash(scene, "the horse is released already"));
    }
    Ok(())
}

/// Every condition that keeps the gate shut for this person.
fn shut(scene: &Scene, user: &User) -> Errors {
    let mut errors = Errors::default();
    if scene.injection().is_none() {
        errors.add("release", "Nothing was injected yet.");
    }
    let missing = gate::missing(scene);
    if !missing.is_empty() {
        errors.add("release", format!("The practice has not entered {}.", missing.join(", ")));
    }
    if let Some(judged) = Judged::of(scene, Some(user.id)) {
        let gate = judged.gate;
        let shut = [
            (gate.hours, "The minimum hours are not over."),
            (gate.rate, "The last reading of every point at 1 m must be within the limit."),
            (gate.meter, "The meter was not in calibration on the day of the reading."),
        ];
        for (_, why) in shut.into_iter().filter(|(met, _)| !met) {
            errors.add("release", why);
        }
    }
    if !scene.is_officer(user.id) {
        errors.add("release", "Only a responsible officer of the licence signs a release.");
    }
    errors
}

/// The entry, with what it rests on; none while the gate is shut.
fn signed(scene: &Scene) -> Option<NewEntry> {
    let judged = Judged::of(scene, None).filter(|judged| judged.gate.is_open())?;
    let (_, injected) = scene.injection()?;
    let last = gate::last_rates(scene);
    let (reading, rate) = last.iter().max_by(|(_, one), (_, other)| one.usv_h.total_cmp(&other.usv_h))?;
    let released = Release {
        at: scene.now,
        licence: scene.terms.reference.clone(),
        min_hours: judged.licence.min_hours,
        max_usv_h: judged.licence.max_usv_h,
        hours: hours(injected.at, scene.now),
        point: rate.point.clone(),
        usv_h: rate.usv_h,
        measured_at: rate.at,
        meter: rate.meter.clone(),
    };
    let mut body = body(scene, Scan::Release(released), None);
    body.about = Some(reading.id);
    Some(NewEntry::new(scene.order.visit_id, body))
}
