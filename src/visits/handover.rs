//! Hand over: a vet passes an open case on with a line, and the receiver accepts or declines.

use axum::{extract::State as FromApp, response::Response};
use serde::Deserialize;

use super::{
    State, Visit,
    pages::VisitPage,
    store::{
        self,
        changes::{self, NewChange},
        handover::{self, Offer},
    },
};
use crate::{
    App,
    accounts::{self, Can, User, act},
    ids::{StaffId, VisitId},
    web::{Begun, Check, Conflict, Error, Errors, Form, Once, Path, Result, Shell, begin, flash, invalid},
};

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct OfferForm {
    pub(super) submission: String,
    pub(super) to: String,
    pub(super) line: String,
}

/// Whether this vet may pass the visit on: an open one that is theirs or nobody's.
pub(super) fn may_offer(visit: &Visit, user: &User) -> bool {
    let open = matches!(visit.state, State::Booked | State::Arrived | State::InHand | State::ToSign);
    open && user.licensed && visit.vet_id.is_none_or(|vet| vet == user.id)
}

pub(super) async fn offer(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<OfferForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let visit = store::get(&mut *once.tx, id).await?;
    if visit.state == State::Signed {
        return Err(Error::Signed);
    }
    if !may_offer(&visit, &user) || handover::open(&mut *once.tx, id).await?.is_some() {
        return Err(not_now(id));
    }
    let vets = accounts::store::vets(&mut *once.tx).await?;
    let mut check = Check::new();
    let to = check.choice::<StaffId>("to", &form.to, "Choose who takes the case over.");
    let line = check.needed("line", &form.line, 500, "Write a line on how the case stands.");
    let to = to.and_then(|to| vets.into_iter().find(|v| v.id == to && v.id != user.id));
    if to.is_none() && check.errors.on("to").is_none() {
        check.errors.add("to", "Choose another vet who works here.");
    }
    let Some(to) = to.filter(|_| check.errors.is_empty()) else {
        drop(once);
        let page = VisitPage::new(&app, &user, shell, id).await?;
        return Ok(invalid(page.with_offer(check.errors, form)));
    };
    handover::offer(&mut once.tx, id, user.id, to.id, &line, once.now).await?;
    let detail = format!("to {}: {line}", to.name);
    let change = NewChange { visit: id, what: "offered", detail: &detail, reason: "" };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Offered to {}. It stays yours until then.", to.name)).await?;
    once.commit(&format!("/visits/{id}")).await
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct AnswerForm {
    submission: String,
    answer: String,
}

/// The receiver accepts or declines; whoever offered may take it back.
pub(super) async fn answer(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Sign>,
    shell: Shell,
    Path(id): Path<VisitId>,
    Form(form): Form<AnswerForm>,
) -> Result<Response> {
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let offer = handover::open(&mut *once.tx, id).await?.ok_or_else(|| not_now(id))?;
    let said = match form.answer.as_str() {
        "accept" if offer.to_id == user.id => "accepted",
        "decline" if offer.to_id == user.id => "declined",
        "take_back" if offer.from_id == user.id => "taken back",
        "accept" | "decline" | "take_back" => return Err(Error::Forbidden),
        _ => return Err(Error::BadRequest("There is no such answer to an offer".into())),
    };
    if let Err(errors) = settle(&mut once, id, &offer, said == "accepted").await? {
        drop(once);
        let page = VisitPage::new(&app, &user, shell, id).await?;
        return Ok(invalid(page.with_offer(errors, OfferForm::default())));
    }
    let detail = format!("{} to {}", offer.from, offer.to);
    let what = format!("hand-over {said}");
    let change = NewChange { visit: id, what: &what, detail: &detail, reason: "" };
    changes::note(&mut once.tx, change, user.id, once.now).await?;
    flash(&mut once.tx, &user, &format!("Hand-over {said}.")).await?;
    once.commit(&format!("/visits/{id}")).await
}

async fn settle(
    once: &mut Once,
    visit: VisitId,
    offer: &Offer,
    accepted: bool,
) -> Result<std::result::Result<(), Errors>> {
    handover::answer(&mut once.tx, offer.id, accepted, once.now).await?;
    if !accepted {
        return Ok(Ok(()));
    }
    match handover::give(&mut once.tx, visit, offer.to_id).await {
        Err(error) if store::is_overlap(&error) => {
            Ok(Err(Errors::one("", "You are booked elsewhere at that time. Have the visit moved first.")))
        }
        given => Ok(Ok(given?)),
    }
}

fn not_now(id: VisitId) -> Error {
    Error::Conflict(Box::new(Conflict {
        what: "Who has this case".into(),
        back: format!("/visits/{id}"),
        ..Conflict::default()
    }))
}
