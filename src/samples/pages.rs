//! The page of an order's samples, which its forms come back to, and what each form does.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    extract::State,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{
    case::Case,
    enzyme, parcel,
    part::Part,
    plan::{OTHER, Plan, TypedPlan},
    store, taken,
    typed::Typed,
    work::Work,
};
use crate::{
    App,
    accounts::{Can, act},
    ids::{EntryId, OrderId},
    record::{Body, Kind},
    web::{Check, Error, Errors, Path, Query, Result, Shell, invalid},
};

/// What the address asks to be open.
#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct Open {
    amend: Option<EntryId>,
}

#[derive(Template, WebTemplate)]
#[template(path = "samples/page.html")]
struct SamplesPage {
    shell: Shell,
    errors: Errors,
    part: Part,
}

pub(super) async fn page(
    State(app): State<App>,
    _: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<OrderId>,
    Query(open): Query<Open>,
) -> Result<Response> {
    let mut part = Part::open(Case::load(&app, id).await?, &shell);
    let amended = open.amend.and_then(|id| part.case.standing(id));
    if let Some((entry, typed)) = amended.map(|(entry, body)| (entry.id, Typed::of(&part.case, body))) {
        let fresh = std::mem::take(&mut part.typed);
        part.typed = Typed { was: entry.to_string(), plan: fresh.plan, ..typed };
        part.amend = Some(entry);
    }
    Ok(SamplesPage { shell, errors: Errors::default(), part }.into_response())
}

/// The page with a form as it was typed, and what is wrong with it.
pub(super) fn again(case: Case, shell: Shell, typed: Typed, errors: Errors) -> Response {
    // One that no longer stands is not amended: what was typed stands in the form of a new one.
    let amend = typed.was.parse().ok().filter(|id| case.standing(*id).is_some());
    let me = shell.user.as_ref().map_or("", |user| user.name.as_str());
    let typed = if amend.is_some() { typed } else { typed.beside(Typed::fresh(&case, me)) };
    let part = Part { shell: shell.clone(), errors: errors.clone(), case, typed, amend };
    invalid(SamplesPage { shell, errors, part })
}

pub(super) async fn taken(_: Can<act::Examine>, work: Work) -> Result<Response> {
    work.must_be_open()?;
    let body = taken::check(&work.typed, &work.case);
    work.keep(Kind::Sample, body).await
}

pub(super) async fn sent(_: Can<act::Examine>, work: Work) -> Result<Response> {
    work.must_be_open()?;
    let body = parcel::check(&work.typed, &work.case);
    work.keep(Kind::Parcel, body).await
}

pub(super) async fn measured(_: Can<act::Examine>, work: Work) -> Result<Response> {
    work.must_be_open()?;
    let body = enzyme::check(&work.typed, &work.case);
    work.keep(Kind::Enzyme, body).await
}

pub(super) async fn received(
    _: Can<act::Examine>,
    Path((_, entry)): Path<(OrderId, EntryId)>,
    mut work: Work,
) -> Result<Response> {
    work.must_be_open()?;
    let sent = work.case.standing(entry).filter(|(_, body)| body.kind == Kind::Parcel);
    let Some((_, sent)) = sent else {
        return Err(work.clash("it was amended or taken back meanwhile"));
    };
    let body = parcel::check_arrival(&work.typed, &work.case, sent);
    if let Err(errors) = body {
        return Ok(work.wrong(errors));
    }
    work.typed.was = entry.to_string();
    work.keep(Kind::Parcel, body).await
}

pub(super) async fn withdraw(
    _: Can<act::Examine>,
    Path((_, entry)): Path<(OrderId, EntryId)>,
    mut work: Work,
) -> Result<Response> {
    work.must_be_open()?;
    work.typed.was = entry.to_string();
    let Some(kind) = work.case.standing(entry).map(|(_, body)| body.kind) else {
        return Err(work.clash("it was amended or taken back meanwhile"));
    };
    let mut check = Check::new();
    let missing = "Say why; it stays in the record as taken back.";
    let reason = Some(check.needed("back_why", &work.typed.back_why, 500, missing));
    let order = Some(work.case.order.id);
    let body = check.done(Body { reason, order, ..Body::new(Kind::Withdrawal) });
    work.keep(kind, body).await
}

/// Another protocol or laboratory.
pub(super) async fn plan(_: Can<act::Examine>, mut work: Work) -> Result<Response> {
    work.must_be_open()?;
    let (kind, codes, laboratories) = (work.case.order.kind, work.case.codes(), work.case.to_choose());
    // What is suspected was said when it was ordered.
    let typed = TypedPlan { suspicion: OTHER.to_owned(), ..work.typed.plan.clone() };
    let version = work.typed.version.parse().map_err(|_| Error::NotFound)?;
    let new = match typed.check(kind, &codes, &laboratories) {
        Ok(new) => Plan { version, suspicion: work.case.plan.suspicion.clone(), ..new },
        Err(errors) => return Ok(work.wrong(errors)),
    };
    let id = work.case.order.id;
    if store::set_plan(&mut work.once.tx, id, &new).await? != 1 {
        return Err(work.clash("somebody else has chosen a protocol or a laboratory"));
    }
    work.step("protocol or laboratory chosen", "").await?;
    work.done("Saved.").await
}
