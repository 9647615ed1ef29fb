//! A programme is prescribed: out of the plan of a visit, from a day on.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{forms::LONGEST, own_form, scene::Way, store};
use crate::{
    App,
    accounts::{Can, act},
    catalogue::catalogue,
    clock::Day,
    db::Tx,
    followups::{self, store::NewFollowUp},
    horses::{self, Card},
    ids::{EntryId, HorseId, ProgrammeId, VisitId},
    papers::exercise,
    practice,
    reasoning::programme::Step,
    record::{self, Body, Exercise, Kind, NewEntry, Stamp, exercise::Prescribed},
    visits::{self, Visit},
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

/// What can be prescribed: a shipped programme, or one of the practice's own.
struct Choice {
    key: String,
    name: String,
    ground: String,
    source: String,
    steps: Vec<Step>,
}

impl Choice {
    fn weeks(&self) -> u32 {
        self.steps.iter().map(|step| u32::from(step.days)).sum::<u32>().div_ceil(7)
    }
}

async fn templates(app: &App) -> Result<Vec<Choice>> {
    let own = store::own(app.db.read()).await?.into_iter().filter(|one| one.in_use);
    let own = own.filter_map(|one| {
        let steps = own_form::read(&one.steps).ok()?;
        let name = format!("{} (our own)", one.name);
        Some(Choice { key: one.id.to_string(), name, ground: one.ground, source: one.source, steps })
    });
    let shipped = catalogue().programmes.programmes.iter().map(|row| Choice {
        key: row.code.clone(),
        name: row.name.clone(),
        ground: row.text.clone(),
        source: format!("{} ({})", row.source, row.confidence.words()),
        steps: Step::of(row),
    });
    Ok(own.chain(shipped).collect())
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct StartForm {
    submission: String,
    template: String,
    limb: String,
    start: String,
    ring: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "programmes/start.html")]
struct StartPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    templates: Vec<Choice>,
    form: StartForm,
}

impl StartPage {
    fn options(&self) -> Vec<(&str, &str)> {
        self.templates.iter().map(|one| (one.key.as_str(), one.name.as_str())).collect()
    }

    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    fn limbs(&self) -> [(&'static str, &'static str); 4] {
        [("LF", "left fore"), ("RF", "right fore"), ("LH", "left hind"), ("RH", "right hind")]
    }
}

async fn make(app: &App, shell: Shell, visit: &Visit, form: StartForm, errors: Errors) -> Result<StartPage> {
    let db = app.db.read();
    let today = app.clock.now().day(&practice::store::get(db).await?.zone);
    let card = horses::store::card(db, visit.horse_id).await?;
    let templates = templates(app).await?;
    Ok(StartPage { shell, errors, visit_id: visit.id, card, today, templates, form })
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
) -> Result<Response> {
    let visit = visits::store::get(app.db.read(), id).await?;
    let today = app.clock.now().day(&practice::store::get(app.db.read()).await?.zone);
    let form = StartForm { start: today.to_string(), ..StartForm::default() };
    Ok(make(&app, shell, &visit, form, Errors::default()).await?.into_response())
}

pub(super) async fn send(
    State(app): State<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<StartForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let visit = visits::store::get(app.db.read(), id).await?;
    must_have_begun(&visit)?;
    let (prescribed, limb) = match check(&form, templates(&app).await?) {
        Ok(meant) => meant,
        Err(errors) => {
            drop(once);
            return Ok(invalid(make(&app, shell, &visit, form, errors).await?));
        }
    };
    let today = once.now.day(&practice::store::get(app.db.read()).await?.zone);
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    let new = New { visit: id, horse: visit.horse_id, open: visit.state.is_open(), limb, prescribed };
    let programme = prescribe(&mut once.tx, &stamp, &new, today).await?;
    flash(&mut once.tx, &user, "The programme is prescribed. Print the sheet for the yard.").await?;
    once.commit(&format!("/programmes/{programme}")).await
}

fn check(
    form: &StartForm,
    templates: Vec<Choice>,
) -> std::result::Result<(Prescribed, Option<String>), Errors> {
    let mut check = Check::new();
    let template = templates.into_iter().find(|one| one.key == form.template);
    if template.is_none() {
        check.errors.add("template", "Choose a programme.");
    }
    let limb = check.maybe_choice::<crate::catalogue::Limb>("limb", &form.limb);
    let start = check.day("start", &form.start);
    if form.start.trim().is_empty() {
        check.errors.add("start", "Enter the first day.");
    }
    let ring = check.line("ring", &form.ring, LONGEST);
    match (template, start, check.errors.is_empty()) {
        (Some(one), Some(start), true) => {
            let Choice { name, source, ground, steps, .. } = one;
            let limb = limb.map(|limb| limb.code().to_owned());
            Ok((Prescribed { name, source, ground, start, steps, ring }, limb))
        }
        _ => Err(check.errors),
    }
}

fn must_have_begun(visit: &Visit) -> Result<()> {
    if visit.state.has_begun() {
        return Ok(());
    }
    let back = format!("/visits/{}", visit.id);
    let clash = Conflict { what: "A programme of this visit".into(), back, ..Conflict::default() };
    Err(Error::Conflict(Box::new(clash.field("The visit", "has begun", &visit.state.to_string()))))
}

/// A programme on its way into the record.
pub struct New {
    pub visit: VisitId,
    pub horse: HorseId,
    /// The visit is not signed: its plan says it too.
    pub open: bool,
    pub limb: Option<String>,
    pub prescribed: Prescribed,
}

/// Prescribes one: its row, its entry, a line in the visit's plan while that is open, and the follow-up of its first gate.
pub async fn prescribe(tx: &mut Tx, stamp: &Stamp, new: &New, today: Day) -> anyhow::Result<ProgrammeId> {
    let (id, now, by) = (ProgrammeId::new(), stamp.received_at, stamp.entered_by);
    store::insert(tx, id, new.visit, now).await?;
    let start = Exercise::Start(new.prescribed.clone());
    let mut entries = Vec::new();
    if new.open {
        let text = Some(exercise::prescribed(&new.prescribed));
        entries.push(NewEntry::new(new.visit, Body { text, ..Body::new(Kind::Plan) }));
    }
    let body = Body {
        code: Some(start.code().to_owned()),
        limb: new.limb.clone(),
        programme: Some(id),
        exercise: Some(start.clone()),
        ..Body::new(Kind::Programme)
    };
    entries.push(NewEntry::new(new.visit, body));
    record::append(tx, stamp, &entries).await?;
    let way = Way::read(std::iter::once((EntryId::new(), &start)), today);
    if let Some((step, due_on)) = way.as_ref().and_then(Way::gate) {
        let what = Way::gate_words(step);
        let due = NewFollowUp { horse: new.horse, visit: Some(new.visit), due_on, what };
        let due = followups::store::insert(tx, &due, by, now).await?;
        store::follow_up(tx, id, Some(due)).await?;
    }
    Ok(id)
}
