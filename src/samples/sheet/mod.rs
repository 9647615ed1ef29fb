//! The sheet that goes with a biopsy to its laboratory: filled from the record, completed by hand, printed.

mod fields;
mod gathered;

use std::collections::BTreeMap;

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use self::{
    fields::{Asked, FIELDS, Shown},
    gathered::Gathered,
};
use super::case::Case;
use crate::{
    App,
    accounts::{Act, Can, act},
    catalogue::{StudyKind, catalogue, diagnostics::SampleNote},
    clock::{At, Day},
    horses::Card,
    ids::{EntryId, OrderId, VisitId},
    papers::samples as words,
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{Begun, Check, Conflict, Error, Errors, Form, Path, Result, Shell, begin, flash, invalid},
};

const LONGEST: usize = 4_000;

/// The form as it was sent: an answer a field.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    /// The sheet that this one takes the place of.
    was: String,
    #[serde(flatten)]
    answers: BTreeMap<String, String>,
}

impl Typed {
    /// Of the words kept last.
    fn of(kept: Option<(EntryId, &Body)>) -> Self {
        let Some((was, body)) = kept else { return Typed::default() };
        Typed { submission: String::new(), was: was.to_string(), answers: body.answers.clone() }
    }

    fn check(&self, order: OrderId) -> std::result::Result<Body, Errors> {
        let mut check = Check::new();
        let mut answers = BTreeMap::new();
        for field in &FIELDS {
            let typed = self.answers.get(field.key).map_or("", String::as_str);
            let answer = check.words(field.key, typed, LONGEST);
            if !answer.is_empty() {
                answers.insert(field.key.to_owned(), answer);
            }
        }
        let reason = (!self.was.is_empty()).then(|| "the sheet was filled in further".to_owned());
        check.done(Body { answers, reason, order: Some(order), ..Body::new(Kind::Submission) })
    }
}

#[derive(Template, WebTemplate)]
#[template(path = "samples/sheet.html")]
struct SheetPage {
    shell: Shell,
    errors: Errors,
    visit_id: VisitId,
    card: Card,
    today: Day,
    case: Case,
    gathered: Gathered,
    /// As it was kept: what the paper says.
    kept: BTreeMap<String, String>,
    typed: Typed,
}

impl SheetPage {
    async fn new(app: &App, case: Case, shell: Shell, typed: Typed, errors: Errors) -> Result<Self> {
        let (gathered, card) = Gathered::load(app, &case).await?;
        let kept = standing(&case).map(|(_, body)| body.answers.clone()).unwrap_or_default();
        let (visit_id, today) = (case.order.visit_id, case.today());
        Ok(SheetPage { shell, errors, visit_id, card, today, case, gathered, kept, typed })
    }

    fn may_write(&self) -> bool {
        self.shell.may(Act::Examine) && !self.case.order.is_closed()
    }

    /// The fields of a group with what the paper says.
    fn shown(&self, group: &str) -> Vec<Shown<'_>> {
        let fields = FIELDS.iter().filter(|field| field.group == group);
        fields.map(|field| Shown::new(field, &self.gathered, &self.kept)).collect()
    }

    /// The fields of the form, with what was typed.
    fn asked(&self) -> Vec<Asked<'_>> {
        FIELDS.iter().map(|field| Asked::new(field, &self.gathered, &self.typed.answers)).collect()
    }

    /// What has to be there before the sheet is ready, and is not.
    fn missing(&self) -> Vec<&'static str> {
        let needed = FIELDS.iter().filter(|field| field.needed);
        let empty = needed.filter(|field| Shown::new(field, &self.gathered, &self.kept).words.is_empty());
        let mut missing: Vec<&'static str> = empty.map(|field| field.label).collect();
        if self.samples().is_empty() {
            missing.push("Sample");
        }
        missing
    }

    fn why_needed(&self) -> Option<&'static SampleNote> {
        catalogue().diagnostics.samples.sheet_notes.get("history_needed")
    }

    /// Muscle, side, method, taken, fixative, into it: a row a sample.
    fn samples(&self) -> Vec<[String; 6]> {
        let zone = &self.case.zone;
        let row = |body: &Body| {
            let sample = body.sample.clone().unwrap_or_default();
            let said = |words: Option<String>| words.unwrap_or_else(|| "not said".to_owned());
            let at = |at: Option<At>| said(at.map(|at| at.words(zone)));
            let side = Some(words::side(body)).filter(|side| !side.is_empty()).unwrap_or("neither side");
            let (method, into) = (said(sample.method), said(sample.into));
            [words::muscle(body), side.to_owned(), method, at(sample.at), into, at(sample.into_at)]
        };
        self.case.of(Kind::Sample).map(|(_, body)| row(body)).collect()
    }
}

/// The words kept last.
fn standing(case: &Case) -> Option<(EntryId, &Body)> {
    case.of(Kind::Submission).last().map(|(entry, body)| (entry.id, body))
}

/// The order, when it is of a biopsy: other samples go without a sheet.
async fn biopsy(app: &App, id: OrderId) -> Result<Case> {
    let case = Case::load(app, id).await?;
    if case.order.kind == StudyKind::Biopsy { Ok(case) } else { Err(Error::NotFound) }
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<OrderId>,
) -> Result<Response> {
    let case = biopsy(&app, id).await?;
    let typed = Typed::of(standing(&case));
    Ok(SheetPage::new(&app, case, shell, typed, Errors::default()).await?.into_response())
}

pub(super) async fn fill(
    State(app): State<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<OrderId>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let case = biopsy(&app, id).await?;
    if case.order.is_closed() {
        return Err(clash(&case, "the order is closed"));
    }
    let was = standing(&case).map(|(id, _)| id);
    if was.map(|id| id.to_string()).unwrap_or_default() != typed.was {
        return Err(clash(&case, "somebody else has filled in the sheet"));
    }
    let body = match typed.check(id) {
        Ok(body) => body,
        Err(errors) => {
            drop(once);
            return Ok(invalid(SheetPage::new(&app, case, shell, typed, errors).await?));
        }
    };
    let entry = NewEntry::new(case.order.visit_id, body);
    let entry = was.into_iter().fold(entry, NewEntry::superseding);
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    record::append(&mut once.tx, &stamp, &[entry]).await?;
    flash(&mut once.tx, &user, "Saved.").await?;
    once.commit(&format!("/diagnostics/{id}/submission")).await
}

fn clash(case: &Case, theirs: &str) -> Error {
    let clash = Conflict {
        what: format!("Submission sheet, {}", case.order.name),
        back: format!("/diagnostics/{}/submission", case.order.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash.field("Sheet", "what you sent", theirs)))
}
