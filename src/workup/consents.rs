//! Leave for everything at this visit that needs it, and the estimate that was told with it: given or withheld, by whom
//! and how, as entries of the record. Who may give it stands beside.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    consent::{self, ANSWERS, Asked, HOW},
    scene::Scene,
    write,
};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clock::Day,
    horses::{self, Card, store::Party},
    ids::VisitId,
    papers::needle,
    record::{Body, Kind},
    web::{Check, Errors, Form, Path, Result, Shell, invalid},
};

#[derive(Template, WebTemplate)]
#[template(path = "workup/consents.html")]
struct ConsentsPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    errors: Errors,
    typed: Typed,
    /// In words, the newest last.
    said: Vec<String>,
    parties: Vec<Party>,
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    what: String,
    consent: String,
    consent_by: String,
    consent_how: String,
    estimate: String,
}

impl ConsentsPage {
    async fn new(app: &App, shell: Shell, id: VisitId, typed: Typed, errors: Errors) -> Result<Self> {
        let scene = Scene::load(app, id).await?;
        let said = scene.of(Kind::Consent).map(|(_, body)| needle::consent(body)).collect();
        let parties = horses::store::parties(app.db.read(), scene.card.id).await?;
        Ok(ConsentsPage {
            shell,
            visit_id: id,
            card: scene.card,
            today: scene.today,
            errors,
            typed,
            said,
            parties,
        })
    }

    fn whats(&self) -> Vec<(&'static str, &'static str)> {
        catalogue().desk.leave.iter().map(|row| (row.code.as_str(), row.name.as_str())).collect()
    }

    fn answers(&self) -> &'static [(&'static str, &'static str)] {
        &ANSWERS
    }

    fn means(&self) -> &'static [(&'static str, &'static str)] {
        &HOW
    }

    /// Offered to be picked; others stay allowed.
    fn who_may(&self) -> impl Iterator<Item = &String> {
        self.parties.iter().filter(|party| party.may_authorise).map(|party| &party.name)
    }

    fn action(&self) -> String {
        format!("/visits/{}/work-up/consents", self.visit_id)
    }

    fn back(&self) -> String {
        format!("/visits/{}/work-up", self.visit_id)
    }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    Ok(ConsentsPage::new(&app, shell, id, Typed::default(), Errors::default()).await?.into_response())
}

pub(super) async fn record(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let body = match typed.check() {
        Ok(body) => body,
        Err(errors) => return Ok(invalid(ConsentsPage::new(&app, shell, id, typed, errors).await?)),
    };
    let location = format!("/visits/{id}/work-up/consents");
    write::once(&app, &can.user, (id, &typed.submission), body, &location).await
}

impl Typed {
    fn check(&self) -> std::result::Result<Body, Errors> {
        let mut check = Check::new();
        if catalogue().desk.leave.get(&self.what).is_none() {
            check.errors.add("what", "Choose what it is asked for.");
        }
        let asked = Asked { answer: &self.consent, by: &self.consent_by, how: &self.consent_how };
        let mut body = consent::read(&mut check, &self.what, &asked);
        let estimate = check.line("estimate", &self.estimate, 300);
        body.text = (!estimate.is_empty()).then_some(estimate);
        check.done(body)
    }
}
