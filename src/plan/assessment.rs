//! The assessment page: problems by place, what was done, the plan, follow-ups; one form open at a time. What stands
//! on it is put together in `sheet`.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Router,
    extract::State as Shared,
    response::Response,
    routing::{get, post},
};
use serde::Deserialize;

use super::{
    Part,
    case::{Case, must_be_open},
    form::{Meant, Typed},
    line,
    sheet::{self, Section, Sheet},
};
use crate::{
    App,
    accounts::{Can, User, act},
    catalogue::{Caution, Where, catalogue},
    clock::Day,
    followups::{self, store::NewFollowUp},
    horses::Card,
    ids::{EntryId, VisitId},
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{Begun, Conflict, Error, Errors, Form, Once, Path, Query, Result, Shell, begin, flash, invalid},
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/assessment", get(page))
        .route("/visits/{id}/assessment/{part}", post(add))
        .route("/visits/{id}/assessment/entries/{entry}", post(change))
        .route("/visits/{id}/assessment/entries/{entry}/withdraw", post(withdraw))
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/assessment.html")]
struct AssessmentPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    case: Case,
    sections: Vec<Section>,
    errors: Errors,
    /// Cautions that this visit's own grades and findings raise; the others are there to be read.
    raised: Vec<&'static Caution>,
    to_read: Vec<&'static Caution>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Open {
    add: Option<String>,
    change: Option<EntryId>,
}

async fn page(
    Shared(app): Shared<App>,
    _: Can<act::SeeRecord>,
    Path(id): Path<VisitId>,
    Query(open): Query<Open>,
    shell: Shell,
) -> Result<AssessmentPage> {
    let case = Case::load(&app, id).await?;
    if let Some(entry) = open.change {
        let (_, body) =
            standing(&case, entry).filter(|(_, body)| body.dosed.is_none()).ok_or(Error::NotFound)?;
        let part = Part::of(body.kind).ok_or(Error::NotFound)?;
        let typed = Typed::from_entry(body);
        return Ok(AssessmentPage::new(shell, case, Some((part, Some(entry), typed)), Errors::default()));
    }
    let part = match open.add {
        Some(key) => key.parse().ok(),
        None => Part::EXPECTED.into_iter().find(|part| !case.has(*part)),
    };
    let sheet = part.filter(|part| shell.may(part.act())).map(|part| (part, None, Typed::default()));
    Ok(AssessmentPage::new(shell, case, sheet, Errors::default()))
}

async fn add(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Examine>,
    Path((id, part)): Path<(VisitId, Part)>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    if !user.may(part.act()) {
        return Err(Error::Forbidden);
    }
    let mut once = match begin(&app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let case = Case::load(&app, id).await?;
    must_be_open(&case.visit, &case.card.name, &typed.words)?;
    let mut checked = typed.check(part, case.today);
    if part == Part::FollowUp && !case.card.status.is_seen() {
        checked = Err(Errors::one("", format!("{} is no longer here: nothing is planned.", case.card.name)));
    }
    match checked {
        Ok(Meant::Entry(body)) => {
            record::append(
                &mut once.tx,
                &Stamp::here(user.id, &user.agent, once.now),
                &[NewEntry::new(id, body)],
            )
            .await?;
        }
        Ok(Meant::FollowUp { due_on, what }) => {
            let new = NewFollowUp { horse: case.card.id, visit: Some(id), due_on, what };
            followups::store::insert(&mut once.tx, &new, user.id, once.now).await?;
        }
        Err(errors) => {
            return Ok(invalid(AssessmentPage::new(shell, case, Some((part, None, typed)), errors)));
        }
    }
    saved(once, &user, id).await
}

async fn change(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Examine>,
    Path(at): Path<(VisitId, EntryId)>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    supersede(&app, &user, at, shell, typed, Typed::check_change).await
}

async fn withdraw(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Examine>,
    Path(at): Path<(VisitId, EntryId)>,
    shell: Shell,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    supersede(&app, &user, at, shell, typed, |typed, _, _| typed.check_withdrawal()).await
}

/// What was meant by a form that changes or takes back an entry.
type Check = fn(&Typed, Part, Day) -> std::result::Result<Body, Errors>;

/// A new entry in place of an earlier one, which stays in the record.
async fn supersede(
    app: &App,
    user: &User,
    (id, entry): (VisitId, EntryId),
    shell: Shell,
    typed: Typed,
    check: Check,
) -> Result<Response> {
    let mut once = match begin(app, &typed.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    let case = Case::load(app, id).await?;
    let part = changeable(&case, entry, user, &typed)?;
    match check(&typed, part, case.today) {
        Ok(body) => {
            let body = with_file(body, standing(&case, entry).map(|(_, earlier)| earlier));
            let new = NewEntry::new(id, body).superseding(entry);
            record::append(&mut once.tx, &Stamp::here(user.id, &user.agent, once.now), &[new]).await?;
            saved(once, user, id).await
        }
        Err(errors) => {
            Ok(invalid(AssessmentPage::new(shell, case, Some((part, Some(entry), typed)), errors)))
        }
    }
}

/// An image that is told otherwise is still the image of the same file, in the same way of going.
fn with_file(body: Body, earlier: Option<&Body>) -> Body {
    match earlier {
        Some(earlier) if body.kind == Kind::Image => {
            Body { value: earlier.value.clone(), code: earlier.code.clone(), ..body }
        }
        _ => body,
    }
}

async fn saved(mut once: Once, user: &User, visit: VisitId) -> Result<Response> {
    flash(&mut once.tx, user, "Saved.").await?;
    once.commit(&format!("/visits/{visit}/assessment")).await
}

fn standing(case: &Case, id: EntryId) -> Option<(Part, &Body)> {
    let body = case.current.iter().find(|e| e.id == id)?.body.as_ref()?;
    Some((Part::of(body.kind)?, body))
}

/// The part an entry stands in, if it still stands and this person may change it.
fn changeable(case: &Case, entry: EntryId, user: &User, typed: &Typed) -> Result<Part> {
    let Some(earlier) = case.all.iter().find(|e| e.id == entry) else { return Err(Error::NotFound) };
    // A medicine is put right where it was given: here it would lose its parts.
    let words = earlier.body.as_ref().filter(|b| b.dosed.is_none());
    let part = words.and_then(|b| Part::of(b.kind)).ok_or(Error::NotFound)?;
    if !user.may(part.act()) {
        return Err(Error::Forbidden);
    }
    must_be_open(&case.visit, &case.card.name, &typed.words)?;
    let Some(later) = case.all.iter().find(|e| e.supersedes == Some(entry)) else { return Ok(part) };
    let theirs = match later.body.as_ref() {
        Some(body) if body.kind == Kind::Withdrawal => {
            format!("taken back: {}", body.reason.as_deref().unwrap_or_default())
        }
        Some(body) => body.text.clone().unwrap_or_default(),
        None => "erased".to_owned(),
    };
    let conflict = Conflict {
        what: format!("{} of {}", part.title(), case.card.name),
        back: format!("/visits/{}/assessment", case.visit.id),
        ..Conflict::default()
    };
    Err(conflict.field("Words", &typed.words, &theirs).into())
}

impl AssessmentPage {
    fn new(shell: Shell, case: Case, open: Option<(Part, Option<EntryId>, Typed)>, errors: Errors) -> Self {
        let mut open = open.filter(|_| case.is_open());
        let sections = Part::ALL
            .into_iter()
            .map(|part| Section {
                part,
                lines: sheet::lines(&case, part),
                sheet: open
                    .take_if(|(p, ..)| *p == part)
                    .map(|(_, changing, typed)| Sheet::new(&case, changing, typed)),
                may_write: case.is_open() && shell.may(part.act()),
            })
            .collect();
        let bodies: Vec<&Body> = case.current.iter().filter_map(|e| e.body.as_ref()).collect();
        let (raised, to_read) = catalogue()
            .cautions_at(Where::Assessment)
            .into_iter()
            .partition(|caution| bodies.iter().any(|body| line::raises(caution, body)));
        let (visit_id, card, today) = (case.visit.id, case.card.clone(), case.today);
        AssessmentPage { shell, visit_id, card, today, case, sections, errors, raised, to_read }
    }
}
