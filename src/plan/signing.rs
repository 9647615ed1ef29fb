//! The signature: what it covers, the password it takes, and the lock that follows.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension, Router,
    extract::State as Shared,
    http::StatusCode,
    response::{IntoResponse, Response},
    routing::get,
};
use serde::Deserialize;

use super::{
    Part,
    case::{Case, must_be_open},
    contents::Contents,
    review::Review,
    store,
};
use crate::{
    App,
    accounts::{self, Act, Can, User, act},
    charges,
    clock::Day,
    exam::tablets::{Tablet, not_known_empty},
    horses::Card,
    ids::VisitId,
    record::{self, Body, Kind, NewEntry, Stamp},
    web::{
        Begun, Check, Conflict, Error, Errors, Form, Once, Path, Peer, Result, Shell, begin, flash, invalid,
        see_other, seen,
    },
};

pub(super) fn router() -> Router<App> {
    Router::new().route("/visits/{id}/sign", get(page).post(sign))
}

#[derive(Template, WebTemplate)]
#[template(path = "plan/sign.html")]
struct SignPage {
    shell: Shell,
    visit_id: VisitId,
    card: Card,
    today: Day,
    case: Case,
    review: Review,
    /// What the record must hold here, and whether it does.
    contents: Contents,
    /// What arrived after the signer had looked.
    news: Vec<String>,
    /// Tablets that may hold entries of this visit.
    tablets: Vec<Tablet>,
    /// Why it is signed all the same, as typed.
    despite: String,
    /// Charges that nobody has gone over; none where the practice keeps no prices or this person does not see them.
    charges: Option<usize>,
    errors: Errors,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct SignForm {
    submission: String,
    /// The visit as the page showed it.
    version: String,
    /// The newest entry that the page showed.
    newest: String,
    /// Why it is signed while a tablet may hold entries.
    despite: String,
    password: String,
}

async fn page(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Sign>,
    Path(id): Path<VisitId>,
    shell: Shell,
) -> Result<SignPage> {
    let case = Case::load(&app, id).await?;
    let tablets = not_known_empty(app.db.read(), id, app.clock.now()).await?;
    let page = SignPage::new(&app, shell, case, &user).await?;
    Ok(SignPage { tablets, ..page })
}

async fn sign(
    Shared(app): Shared<App>,
    Can { user, .. }: Can<act::Sign>,
    Path(id): Path<VisitId>,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<SignForm>,
) -> Result<Response> {
    if let Ok(submission) = form.submission.parse()
        && let Some(first) = seen(&app.db, submission).await?
    {
        return Ok(see_other(&first));
    }
    let case = Case::load(&app, id).await?;
    must_be_signable(&case)?;
    let tablets = not_known_empty(app.db.read(), id, app.clock.now()).await?;
    let (despite, mut errors) = despite(&form.despite, &tablets);
    if !accounts::confirm(&app, &user, peer, &form.password).await? {
        errors.add("password", "This is not your password. A PIN does not sign.");
    }
    if !errors.is_empty() {
        let page = SignPage::new(&app, shell, case, &user).await?;
        return Ok(invalid(SignPage { tablets, despite, errors, ..page }));
    }
    let once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(first) => return Ok(first),
    };
    // Read again under the lock: from here to the commit nobody else can write.
    let case = Case::load(&app, id).await?;
    must_be_signable(&case)?;
    let news = case.after(form.newest.parse().unwrap_or(0));
    if !news.is_empty() {
        let page = SignPage::new(&app, shell, case, &user).await?;
        return Ok((StatusCode::CONFLICT, SignPage { news, tablets, despite, ..page }).into_response());
    }
    let why = (!tablets.is_empty()).then_some(despite);
    let held: Vec<String> = tablets.iter().map(|tablet| holds(tablet, &case)).collect();
    seal(once, &case, &user, (form.version.parse().unwrap_or(0), why, &held)).await
}

/// The reason as typed; needed while a tablet may hold entries.
fn despite(typed: &str, tablets: &[Tablet]) -> (String, Errors) {
    let mut check = Check::new();
    let words = if tablets.is_empty() {
        String::new()
    } else {
        check.needed("despite", typed, 300, "Say why it is signed before these tablets are heard.")
    };
    (if words.is_empty() { typed.to_owned() } else { words }, check.errors)
}

/// One such tablet in words.
fn holds(tablet: &Tablet, case: &Case) -> String {
    let at = tablet.heard_at.words(&case.zone);
    match tablet.unsent {
        0 => format!("{} has the exam open on a tablet, last heard {at}; nothing waited then", tablet.name),
        1 => format!("{}: 1 entry waits on a tablet, last heard {at}", tablet.name),
        many => format!("{}: {many} entries wait on a tablet, last heard {at}", tablet.name),
    }
}

/// The signature ends the visit's part of the chain, and the visit is locked with it.
async fn seal(
    mut once: Once,
    case: &Case,
    user: &User,
    (version, despite, held): (i64, Option<String>, &[String]),
) -> Result<Response> {
    let id = case.visit.id;
    let mut summary = Review::of(case, user.id).summary(case, user.id);
    for tablet in held {
        summary = format!("{summary}; {tablet}");
    }
    let signature = Body { text: Some(summary), reason: despite, ..Body::new(Kind::Signature) };
    record::append(
        &mut once.tx,
        &Stamp::here(user.id, &user.agent, once.now),
        &[NewEntry::new(id, signature)],
    )
    .await?;
    if store::sign(&mut once.tx, id, version, user.id, once.now).await? != 1 {
        return Err(changed(case));
    }
    flash(&mut once.tx, user, &format!("{}'s visit is signed.", case.card.name)).await?;
    once.commit(&format!("/visits/{id}/addenda")).await
}

/// An open hand-over is answered first, and only a visit in hand is signed, once.
fn must_be_signable(case: &Case) -> Result<()> {
    must_be_open(&case.visit, &case.card.name, "")?;
    match case.open_handover {
        None => Ok(()),
        Some(_) => Err(Error::Conflict(Box::new(Conflict {
            what: format!("{} was handed over, and the hand-over is not answered", case.card.name),
            back: format!("/visits/{}", case.visit.id),
            ..Conflict::default()
        }))),
    }
}

fn changed(case: &Case) -> Error {
    Error::Conflict(Box::new(Conflict {
        what: format!("{}'s visit was changed after you opened this page", case.card.name),
        back: format!("/visits/{}/sign", case.visit.id),
        ..Conflict::default()
    }))
}

impl Case {
    /// The words of every entry after `newest`, with who made it.
    fn after(&self, newest: i64) -> Vec<String> {
        let new = self.all.iter().filter(|e| e.seq > newest);
        new.map(|e| format!("{} ({})", self.say(e), self.by_line(e))).collect()
    }
}

impl SignPage {
    async fn new(app: &App, shell: Shell, case: Case, user: &User) -> Result<Self> {
        let review = Review::of(&case, user.id);
        let (visit_id, card, today) = (case.visit.id, case.card.clone(), case.today);
        let charges = if user.may(Act::Charge) { charges::to_look_over(app, visit_id).await? } else { None };
        Ok(SignPage {
            shell,
            visit_id,
            card,
            today,
            contents: Contents::of(app, &case).await?,
            case,
            review,
            news: Vec::new(),
            tablets: Vec::new(),
            despite: String::new(),
            charges,
            errors: Errors::default(),
        })
    }

    /// The tablets that may hold entries, in words.
    fn held(&self) -> Vec<String> {
        self.tablets.iter().map(|tablet| holds(tablet, &self.case)).collect()
    }

    /// The written parts that hold something, with their lines.
    fn written(&self) -> Vec<(&'static str, Vec<String>)> {
        let lines = |part| self.case.of_part(part).map(|(entry, _)| self.case.say(entry)).collect();
        let parts = Part::ALL.into_iter().map(|part| (part.title(), lines(part)));
        parts.filter(|(_, lines): &(_, Vec<String>)| !lines.is_empty()).collect()
    }
}
