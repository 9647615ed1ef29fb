//! A horse is put down: leave, method, death made sure of, remains, passport and insurer; the horse's status follows.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State as FromApp,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    scene::Scene,
    work::{append, must_be_open},
};
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::catalogue,
    clock::Day,
    horses::{self, Card, Status},
    ids::VisitId,
    papers::words::{self, Units},
    record::{Body, Death, How, Kind, NewEntry},
    visits,
    web::{Begun, Check, Conflict, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const LEAVE: [(&str, &str); 4] = [
    ("in person", "in person"),
    ("by phone", "by phone"),
    ("in writing", "in writing"),
    ("could not be waited for", "could not be waited for"),
];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    why: String,
    leave_by: String,
    leave_how: String,
    method: String,
    medicine: String,
    batch: String,
    died_at: String,
    sign: Vec<String>,
    confirmed_by: String,
    remains: String,
    passport: String,
    insurer: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "care/ending.html")]
struct EndingPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    scene: Scene,
    typed: Typed,
}

impl EndingPage {
    fn new(shell: Shell, scene: Scene, typed: Typed, errors: Errors) -> Self {
        EndingPage {
            visit_id: scene.visit.id,
            card: scene.card.clone(),
            today: scene.today,
            shell,
            errors,
            scene,
            typed,
        }
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Sign) && self.scene.visit.state.is_open() && self.said().is_none()
    }

    /// What the record says of it already.
    fn said(&self) -> Option<String> {
        let mut bodies = self.scene.entries.iter().rev().filter_map(|entry| entry.body.as_ref());
        let body = bodies.find(|body| body.kind == Kind::Euthanasia)?;
        Some(words::sentence(body, Units::default()))
    }

    fn back(&self) -> String {
        format!("/visits/{}", self.visit_id)
    }

    fn leave(&self) -> [(&'static str, &'static str); 4] {
        LEAVE
    }

    fn methods(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().care.methods.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn cautions(&self) -> Vec<(String, &'static str, &'static str)> {
        let rows = catalogue().care.methods.iter();
        rows.map(|row| (words::capital(&row.name), row.text.as_str(), row.source.as_str())).collect()
    }

    fn signs(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().care.death_signs.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    /// Medicines that were given at this visit, to be picked.
    fn given(&self) -> Vec<String> {
        let of = |body: &&Body| body.dosed.as_ref().is_some_and(|dosed| dosed.how == How::Administered);
        let bodies = self.scene.here().into_iter().map(|(_, body)| body).filter(of);
        bodies
            .filter_map(|body| body.dosed.as_ref())
            .map(|dosed| format!("{}, {} mg", dosed.name, dosed.mg))
            .collect()
    }
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    let scene = Scene::load(&app, id, None).await?;
    let typed = Typed { died_at: scene.now.hm(&scene.practice.zone), ..Typed::default() };
    Ok(EndingPage::new(shell, scene, typed, Errors::default()).into_response())
}

pub(super) async fn record(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let scene = Scene::load(&app, id, None).await?;
    let said = [
        ("Why", typed.why.as_str()),
        ("Remains", typed.remains.as_str()),
        ("Insurer", typed.insurer.as_str()),
    ];
    must_be_open(&scene, &said)?;
    let there = |body: &Body| body.kind == Kind::Euthanasia;
    if scene.entries.iter().any(|entry| entry.body.as_ref().is_some_and(there)) {
        let what = format!("{}: its end is in the record already", scene.card.name);
        let clash = Conflict { what, back: format!("/visits/{id}/euthanasia"), ..Conflict::default() };
        return Err(said.iter().fold(clash, |clash, (label, words)| clash.field(label, words, "")).into());
    }
    let death = match typed.check(&scene) {
        Ok(death) => death,
        Err(errors) => {
            drop(once);
            return Ok(invalid(EndingPage::new(shell, scene, typed, errors)));
        }
    };
    let on = death.at.day(&scene.practice.zone);
    let body = Body { death: Some(Box::new(death)), ..Body::new(Kind::Euthanasia) };
    append(&mut once, &user, &[NewEntry::new(id, body)]).await?;
    let (_, version) = horses::store::details(&mut *once.tx, scene.card.id).await?;
    horses::store::set_status(&mut once.tx, scene.card.id, version, Status::Dead, on).await?;
    let words = format!("{} was put down on {}.", scene.card.name, on.words());
    let now = once.now;
    visits::store::booking::cancel_future_of_horse(&mut once.tx, scene.card.id, &words, user.id, now).await?;
    flash(&mut once.tx, &user, &format!("{words} Nothing is booked for it any more.")).await?;
    once.commit(&format!("/visits/{id}/euthanasia")).await
}

impl Typed {
    fn check(&self, scene: &Scene) -> std::result::Result<Death, Errors> {
        let mut c = Check::new();
        let why = c.needed_words("why", &self.why, 1000, "Say why.");
        let leave_by =
            c.needed("leave_by", &self.leave_by, 120, "Enter who gave leave, or who was asked for.");
        let how = LEAVE.iter().find(|(key, _)| *key == self.leave_how);
        if how.is_none() {
            c.errors.add("leave_how", "Choose how leave was given.");
        }
        if catalogue().care.methods.get(&self.method).is_none() {
            c.errors.add("method", "Choose the method.");
        }
        let mut maybe =
            |field: &str, typed: &str| Some(c.line(field, typed, 300)).filter(|line| !line.is_empty());
        let (medicine, batch, passport) = (
            maybe("medicine", &self.medicine),
            maybe("batch", &self.batch),
            maybe("passport", &self.passport),
        );
        if self.method == "injection" && medicine.is_none() && c.errors.on("medicine").is_none() {
            c.errors.add("medicine", "Enter the medicine and how much of it.");
        }
        let time = c.time("died_at", &self.died_at);
        let at = time.map_or(scene.now, |(hour, minute)| scene.today.at(hour, minute, &scene.practice.zone));
        if at > scene.now.plus_minutes(1) {
            c.errors.add("died_at", "This is still to come.");
        }
        let known = catalogue().care.death_signs.iter().filter(|row| self.sign.contains(&row.code));
        let signs: Vec<String> = known.map(|row| row.name.clone()).collect();
        if signs.len() < 2 {
            c.errors.add("sign", "Make sure by two signs at least.");
        }
        let confirmed_by = c.needed("confirmed_by", &self.confirmed_by, 120, "Enter who made sure.");
        let remains = c.needed("remains", &self.remains, 300, "Enter what becomes of the body.");
        let insurer = c.needed(
            "insurer",
            &self.insurer,
            300,
            "Enter whether and when an insurer was told, or that there is none.",
        );
        let death = Death {
            why,
            leave_by,
            leave_how: self.leave_how.clone(),
            method: self.method.clone(),
            medicine,
            batch,
            at: at.min(scene.now),
            signs,
            confirmed_by,
            remains,
            passport,
            insurer,
        };
        c.done(death)
    }
}
