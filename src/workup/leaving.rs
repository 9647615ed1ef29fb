//! Before the horse leaves: until when it may be numb, what the vet decides about riding and travel, what to watch, and
//! what it was sedated with.

use serde::Deserialize;

use super::{
    clock::all_numb_until,
    consent::{self, Asked},
    pages::{self, Wrong},
    scene::Scene,
    when, write,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::{catalogue, localise::Care},
    ids::VisitId,
    record::{Body, Given, Kind},
    web::{Check, Errors, Form, Path, Result, Shell, flash},
};
use axum::{extract::State, response::Response};

/// The `value` of the plan that says what holds on the way home, and of the treatment that was a sedation.
const LEAVING: &str = "leaving";
const SEDATION: &str = "sedation";

pub(super) struct Leaving {
    /// Empty when nothing is numb any more.
    pub numb_until: String,
    pub care: Vec<&'static Care>,
    /// Needle marks to look at tomorrow.
    pub sites: Vec<String>,
    pub sedations: Vec<String>,
    pub said: Vec<String>,
    /// Consent for sedation is not given yet.
    pub asks: bool,
}

impl Leaving {
    pub(super) fn of(scene: &Scene) -> Self {
        let rows = catalogue().localise.care.iter();
        let care = rows.filter(|row| scene.shots.iter().any(|shot| row.is_after(shot.block)));
        let mut sites: Vec<String> = scene
            .shots
            .iter()
            .map(|shot| format!("{} {}", shot.limb.map_or("trunk", |limb| limb.name()), shot.block.name))
            .collect();
        sites.dedup();
        let sedations = scene.of(Kind::Treatment).filter(|(_, body)| body.value.as_deref() == Some(SEDATION));
        let said = scene.of(Kind::Plan).filter(|(_, body)| body.value.as_deref() == Some(LEAVING));
        Leaving {
            numb_until: all_numb_until(&scene.shots, scene.now).map(|at| scene.hm(at)).unwrap_or_default(),
            care: care.collect(),
            sites,
            sedations: sedations.filter_map(|(_, body)| body.text.clone()).collect(),
            said: said.filter_map(|(_, body)| body.text.clone()).collect(),
            asks: !consent::is_given(&scene.entries, SEDATION),
        }
    }
}

/// The two forms, as typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub sedative: String,
    pub sedated_at: String,
    pub consent: String,
    pub consent_by: String,
    pub consent_how: String,
    pub no_riding: String,
    pub no_travel: String,
    pub watch: String,
}

impl Typed {
    /// What the forms hold before anybody touches them.
    pub(super) fn fresh(scene: &Scene, leaving: &Leaving) -> Self {
        Typed {
            sedated_at: scene.hm(scene.now),
            no_riding: leaving.numb_until.clone(),
            no_travel: leaving.numb_until.clone(),
            ..Typed::default()
        }
    }
}

/// Sedation: what, how much, when; with leave for it.
pub(super) async fn sedate(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let bodies = match sedation(&typed, &scene) {
        Ok(bodies) => bodies,
        Err(errors) => return pages::again(&app, &can.user, shell, id, Wrong { typed, errors }).await,
    };
    let mut writing = match write::open(&app, &can.user, id, &typed.submission).await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    if bodies.iter().all(|body| body.kind == Kind::Consent) {
        let words = "Consent is withheld: that is kept, and no sedation was recorded.";
        flash(writing.tx(), &can.user, words).await?;
    }
    write::keep(writing, &can.user, bodies, &format!("/visits/{id}/work-up#leaving")).await
}

fn sedation(typed: &Typed, scene: &Scene) -> std::result::Result<Vec<Body>, Errors> {
    let mut check = Check::new();
    let mut bodies = Vec::new();
    if !consent::is_given(&scene.entries, SEDATION) {
        let asked = Asked { answer: &typed.consent, by: &typed.consent_by, how: &typed.consent_how };
        bodies.push(consent::read(&mut check, SEDATION, &asked));
        if typed.consent == "withheld" {
            return check.done(bodies);
        }
    }
    let missing = "Enter what was given and how much, such as detomidine 0.01 mg a kg into the vein.";
    let what = check.needed("sedative", &typed.sedative, 300, missing);
    let days = (scene.now, scene.visit.starts_at);
    let at = when::past(&mut check, "sedated_at", &typed.sedated_at, days, scene.zone());
    let mut body = Body::new(Kind::Treatment);
    body.value = Some(SEDATION.to_owned());
    body.text = Some(format!("sedation at {}: {what}", at.map(|at| scene.hm(at)).unwrap_or_default()));
    body.given = Some(Given { at, ..Given::default() });
    bodies.push(body);
    check.done(bodies)
}

/// What the vet decides for the way home.
pub(super) async fn leave(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let scene = Scene::load(&app, id).await?;
    let body = match decided(&typed, &scene) {
        Ok(body) => body,
        Err(errors) => return pages::again(&app, &can.user, shell, id, Wrong { typed, errors }).await,
    };
    let home = format!("/visits/{id}/work-up#leaving");
    write::once(&app, &can.user, (id, &typed.submission), body, &home).await
}

fn decided(typed: &Typed, scene: &Scene) -> std::result::Result<Body, Errors> {
    let mut check = Check::new();
    let mut until =
        |field: &str, typed: &str| when::coming(&mut check, field, typed, scene.now, scene.zone());
    let (riding, travel) = (until("no_riding", &typed.no_riding), until("no_travel", &typed.no_travel));
    let watch = check.words("watch", &typed.watch, 1000);
    let mut said = Vec::new();
    said.extend(riding.map(|at| format!("No riding until {}.", scene.hm(at))));
    said.extend(travel.map(|at| format!("No travel until {}.", scene.hm(at))));
    said.extend((!watch.is_empty()).then(|| format!("Watch: {watch}")));
    if said.is_empty() && check.errors.is_empty() {
        check.errors.add("watch", "Enter until when, or what to watch.");
    }
    let mut body = Body::new(Kind::Plan);
    body.value = Some(LEAVING.to_owned());
    body.text = Some(said.join(" "));
    check.done(body)
}
