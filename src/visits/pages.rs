//! The visit's own page, and the steps from one state to the next.

use askama::Template;
use askama_web::WebTemplate;
use axum::{extract::State as FromApp, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{
    Complaint, State, Visit,
    complaint::ComplaintForm,
    handover::{self, OfferForm},
    steps::{self, Step},
    store::{
        self,
        changes::{self, Change, NewChange},
        day::{self, Line},
        handover::Offer,
    },
    triage::{self, Answers, Told},
};
use crate::{
    App,
    accounts::{self, Act, Can, User, act},
    biosecurity::{self, Report},
    care,
    catalogue::catalogue,
    clock::Day,
    contacts,
    db::Tx,
    followups,
    horses::{self, Card},
    ids::{StaffId, VisitId},
    papers::{self, words::capital},
    photos::{self, Photo},
    practice, rounds,
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid, see_other,
    },
};

#[derive(Template, WebTemplate)]
#[template(path = "visits/visit.html")]
pub(super) struct VisitPage {
    shell: Shell,
    errors: Errors,
    form: StepForm,
    visit_id: VisitId,
    visit: Visit,
    line: Line,
    card: Card,
    complaints: Vec<Complaint>,
    /// What was asked in the call, and what follows from it.
    answers: Answers,
    told: Option<Told>,
    /// A yard that the vet can drive off from.
    may_leave: bool,
    /// What is marked at the visit's yard, where the horse is not at home.
    yard_marks: Vec<String>,
    /// What is cleaned before the next yard; empty where nothing is marked.
    cleaning: Vec<&'static str>,
    report: Option<Report>,
    /// How many horses share the stop.
    horses: usize,
    /// Part of the record: none for those who may not see it.
    photos: Vec<Photo>,
    /// The same: medicines that were given, handed over or prescribed, in words.
    medicines: Vec<String>,
    changes: Vec<Change>,
    steps: Vec<&'static Step>,
    offer: Option<Offer>,
    offer_form: OfferForm,
    /// Whom the case can be passed to; empty when this user may not.
    receivers: Vec<(StaffId, String)>,
    user: StaffId,
    zone: TimeZone,
    today: Day,
}

impl VisitPage {
    pub(super) async fn new(app: &App, user: &User, shell: Shell, id: VisitId) -> Result<Self> {
        let db = app.db.read();
        let visit = store::get(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let recorded = store::has_entries(db, id).await?;
        let steps = steps::from(visit.state)
            .filter(|s| user.may(s.act) && may_go_back(s, &visit, recorded))
            .collect();
        let offer = store::handover::open(db, id).await?;
        let mut receivers = Vec::new();
        if offer.is_none() && handover::may_offer(&visit, user) {
            let vets = accounts::store::vets(db).await?;
            receivers = vets.into_iter().filter(|v| v.id != user.id).map(|v| (v.id, v.name)).collect();
        }
        let complaints = store::complaints(db, id).await?;
        let answers = triage::of_visit(db, id).await?;
        let forms: Vec<ComplaintForm> = complaints.iter().map(|c| ComplaintForm::of(1, c)).collect();
        let approved = practice::advice::approved(db).await?;
        let may_leave = matches!(visit.state, State::InHand | State::ToSign | State::Signed)
            && visit.starts_at.day(&zone) == app.clock.now().day(&zone)
            && visit.vet_id.is_some()
            && !rounds::store::has_left(db, id).await?;
        let yard = visit.yard_id.filter(|_| visit.place == "yard");
        let marks = biosecurity::store::standing(db).await?;
        let marks = marks.of(Some(visit.horse_id), yard, visit.starts_at.day(&zone));
        let card = horses::store::card(db, visit.horse_id).await?;
        let elsewhere = marks.iter().filter(|mark| mark.yard_id.is_some() && mark.yard_id != card.yard_id);
        let rows = catalogue().biosecurity.cleaning.iter().filter(|_| !marks.is_empty());
        let horses = match visit.stop_id {
            Some(stop) => day::of_stop(db, stop).await?.len(),
            None => 1,
        };
        Ok(VisitPage {
            shell,
            yard_marks: elsewhere.map(|mark| format!("{}: {}", mark.whose, mark.words())).collect(),
            cleaning: rows.map(|row| row.name.as_str()).collect(),
            report: Report::of(&marks, biosecurity::store::authority(db).await?),
            horses,
            told: triage::weigh(&answers, &forms).map(|verdict| Told::new(verdict, &approved)),
            answers,
            may_leave,
            errors: Errors::default(),
            form: StepForm::default(),
            visit_id: id,
            line: day::line(db, id).await?,
            card,
            complaints,
            photos: if user.may(Act::SeeRecord) { photos::of_visit(db, id).await? } else { vec![] },
            medicines: if user.may(Act::SeeRecord) { medicines(app, &visit).await? } else { vec![] },
            changes: changes::of_visit(db, id).await?,
            steps,
            offer,
            offer_form: OfferForm::default(),
            receivers,
            user: user.id,
            today: app.clock.now().day(&zone),
            zone,
            visit,
        })
    }

    /// The same page with what is wrong with a hand-over.
    pub(super) fn with_offer(self, errors: Errors, offer_form: OfferForm) -> Self {
        VisitPage { errors, offer_form, ..self }
    }

    fn step(&self, key: &str) -> Option<&'static Step> {
        self.steps.iter().copied().find(|s| s.key == key)
    }

    /// The questions that were answered so.
    fn said(&self, answer: &str) -> Vec<&'static str> {
        let asked = catalogue().red_flags.iter().filter(|flag| self.answers.to(flag) == answer);
        asked.map(|flag| flag.ask.as_str()).collect()
    }

    fn is_over(&self) -> bool {
        matches!(self.visit.state, State::Signed | State::DidNotCome | State::Cancelled)
    }
}

/// The medicines of a visit in words, the first one first.
async fn medicines(app: &App, visit: &Visit) -> sqlx::Result<Vec<String>> {
    let all = care::store::medicines(app.db.read(), visit.horse_id).await?;
    let here = all.into_iter().rev().filter(|one| one.visit == visit.id);
    Ok(here.map(|one| capital(&papers::dosed::words(&one.dosed))).collect())
}

/// A visit that holds words of the record was begun, whatever one wishes; a walk-in was never booked.
fn may_go_back(step: &Step, visit: &Visit, recorded: bool) -> bool {
    step.to != State::Booked || visit.state != State::InHand || !(recorded || visit.walk_in)
}

pub(super) async fn page(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::SeeDay>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<VisitPage> {
    VisitPage::new(&app, &user, shell, id).await
}

/// The history of the visit's horse, for the menu of the visit's pages.
pub(super) async fn history(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    let visit = store::get(app.db.read(), id).await?;
    Ok(see_other(&format!("/horses/{}/history", visit.horse_id)))
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct StepForm {
    submission: String,
    step: String,
    reason: String,
    /// `day` when the button stood on the day page.
    back: String,
}

/// Takes a visit one step on.
pub(super) async fn step(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Book>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<StepForm>,
) -> Result<Response> {
    let step = steps::named(&form.step)
        .ok_or_else(|| Error::BadRequest("There is no such step for a visit".into()))?;
    if !user.may(step.act) {
        return Err(Error::Forbidden);
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let mut check = Check::new();
    let reason = match step.key {
        "cancel" => check.needed("reason", &form.reason, 500, "Say why it is cancelled."),
        "did_not_come" => check.needed(
            "no-show-reason",
            &form.reason,
            500,
            "Say what was heard, or that nobody was reached.",
        ),
        _ => check.line("reason", &form.reason, 500),
    };
    let visit = store::get(&mut *once.tx, id).await?;
    let recorded = store::has_entries(&mut *once.tx, id).await?;
    if !step.from.contains(&visit.state) || !may_go_back(step, &visit, recorded) {
        return Err(not_from_here(step, &visit));
    }
    if !check.errors.is_empty() {
        drop(once);
        let page = VisitPage::new(&app, &user, shell, id).await?;
        return Ok(invalid(VisitPage { errors: check.errors, form, ..page }));
    }
    match apply(&mut once.tx, step, &visit, &user).await {
        Err(error) if store::is_overlap(&error) => return Err(taken_meanwhile(&visit)),
        applied => applied?,
    }
    if step.key == "cancel" {
        contacts::store::rang_back(&mut once.tx, id, user.id, once.now).await?;
    }
    if matches!(step.key, "arrived" | "begin") {
        rounds::arrived(&mut once.tx, &visit, once.now).await?;
    }
    let change = NewChange { visit: id, what: step.said, detail: "", reason: &reason };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    let location = match step.key {
        "begin" | "again" => format!("/visits/{id}/exam"),
        _ if form.back == "day" => "/".into(),
        _ => format!("/visits/{id}"),
    };
    flash(&mut once.tx, &user, &format!("Noted: {}.", step.said)).await?;
    once.commit(&location).await
}

async fn apply(tx: &mut Tx, step: &Step, visit: &Visit, user: &User) -> sqlx::Result<()> {
    store::set_state(tx, visit.id, visit.state, step.to).await?;
    if step.to == State::InHand && user.licensed {
        store::take(tx, visit.id, user.id).await?;
    }
    if matches!(step.to, State::Cancelled | State::DidNotCome) {
        followups::store::reopen(tx, visit.id).await?;
    }
    Ok(())
}

/// The visit has moved on since the page was opened.
fn not_from_here(step: &Step, visit: &Visit) -> Error {
    if visit.state == State::Signed {
        return Error::Signed;
    }
    let clash = Conflict {
        what: "How far this visit has come".into(),
        back: format!("/visits/{}", visit.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash.field("State", &step.to.to_string(), &visit.state.to_string())))
}

fn taken_meanwhile(visit: &Visit) -> Error {
    let clash = Conflict {
        what: "The vet was booked elsewhere at that time meanwhile: move the visit instead".into(),
        back: format!("/visits/{}", visit.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash))
}
