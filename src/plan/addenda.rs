//! After the signature: dated addenda, and late entries that wait to be adopted.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State as Shared,
    response::Response,
    routing::{get, post},
};
use serde::Deserialize;

use super::case::Case;
use crate::{
    App,
    accounts::{Can, User, act},
    clock::Day,
    horses::Card,
    ids::{EntryId, VisitId},
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash, invalid},
};

const LONGEST: usize = 5_000;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/addenda", get(page).post(add))
        .route("/visits/{id}/addenda/adopt/{entry}", post(adopt))
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/addenda.html")]
struct AddendaPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    case: Case,
    typed: Typed,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Typed {
    submission: String,
    words: String,
}

/// An addendum or an adopted entry, as it is shown.
struct Added {
    head: &'static str,
    words: String,
    by: String,
}

async fn page(
    Shared(app): Shared<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    shell: Shell,
) -> Result<AddendaPage> {
    let case = Case::load(&app, id).await?;
    Ok(AddendaPage::new(shell, case, Typed::default(), Errors::default()))
}

async fn add(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Sign>,
    Path(id): Path<VisitId>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let case = Case::load(&app, id).await?;
    must_be_signed(&case, &typed.words)?;
    let mut check = Check::new();
    let text = check.needed_words("words", &typed.words, LONGEST, "Say what is to be added.");
    if let Err(errors) = check.done(()) {
        return Ok(invalid(AddendaPage::new(shell, case, typed, errors)));
    }
    let body = Body { text: Some(text), ..Body::new(Kind::Addendum) };
    record::append(&mut once.tx, &Stamp::here(user.id, &user.agent, once.now), &[NewEntry::new(id, body)])
        .await?;
    added(once, &user, id, "Addendum added.").await
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct AdoptForm {
    submission: String,
}

async fn adopt(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Sign>,
    Path((id, entry)): Path<(VisitId, EntryId)>,
    Form(form): Form<AdoptForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let case = Case::load(&app, id).await?;
    must_be_signed(&case, "")?;
    if !case.all.iter().any(|e| e.id == entry && e.late) {
        return Err(Error::NotFound);
    }
    if !case.late().iter().any(|e| e.id == entry) {
        return Err(conflict(&case, "this late entry was adopted already", ""));
    }
    let body = Body { about: Some(entry), ..Body::new(Kind::Adoption) };
    record::append(&mut once.tx, &Stamp::here(user.id, &user.agent, once.now), &[NewEntry::new(id, body)])
        .await?;
    added(once, &user, id, "Late entry adopted.").await
}

async fn added(mut once: Once, user: &User, visit: VisitId, line: &str) -> Result<Response> {
    flash(&mut once.tx, user, line).await?;
    once.commit(&format!("/visits/{visit}/addenda")).await
}

fn must_be_signed(case: &Case, typed: &str) -> Result<()> {
    if case.is_signed() { Ok(()) } else { Err(conflict(case, "the visit is not signed yet", typed)) }
}

fn conflict(case: &Case, what: &str, typed: &str) -> Error {
    let conflict = Conflict {
        what: format!("{}: {what}", case.card.name),
        back: format!("/visits/{}/addenda", case.visit.id),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(conflict.field("Words", typed, "")))
}

impl AddendaPage {
    fn new(shell: Shell, case: Case, typed: Typed, errors: Errors) -> Self {
        let (visit_id, card, today) = (case.visit.id, case.card.clone(), case.today);
        AddendaPage { shell, visit_id, card, today, case, typed, errors }
    }

    /// What was added since the signature, in order.
    fn added(&self) -> Vec<Added> {
        let show = |entry: &record::Entry| {
            let body = entry.body.as_ref()?;
            let by = self.case.by_line(entry);
            if let Some(late) = entry.adopts() {
                let late = self.case.all.iter().find(|e| e.id == late)?;
                let words = format!("{} ({})", self.case.say(late), self.case.by_line(late));
                return Some(Added { head: "Late entry adopted", words, by });
            }
            let words = body.text.clone().filter(|_| body.kind == Kind::Addendum)?;
            Some(Added { head: "Addendum", words, by })
        };
        self.case.all.iter().filter_map(show).collect()
    }

    /// Late entries in words, with who made each.
    fn late(&self) -> Vec<(EntryId, String, String)> {
        let late = self.case.late();
        late.into_iter().map(|e| (e.id, self.case.say(e), self.case.by_line(e))).collect()
    }

    /// Who signed and when.
    fn signed(&self) -> Option<String> {
        let (by, at) = self.case.visit.signed_by.zip(self.case.visit.signed_at)?;
        Some(format!("Signed by {}, {}", self.case.name_of(by), at.words(&self.case.zone)))
    }
}
