//! From a form of the work-up into the record: once, as the exam does it, and under the cautions as they stand then.

use axum::response::Response;

use super::{
    form::{Typed, on},
    skin,
};
use crate::{
    App,
    accounts::{Act, User},
    catalogue::{Block, Limb, catalogue},
    exam::{
        movement::{Raised, cautions},
        stamp::{self, Opened, Stamped, Writing},
    },
    horses,
    ids::VisitId,
    practice, record, visits,
    web::{Error, Result, flash},
};

/// What came of asking to write: the transaction, or the answer to a form that was taken before.
pub(super) type Begun = std::result::Result<Box<Writing>, Response>;

/// Begins to write. Whoever signs visits says it for themselves; whoever only writes down, for the visit's vet.
pub(super) async fn open(app: &App, user: &User, id: VisitId, submission: &str) -> Result<Begun> {
    let mut seen_by = String::new();
    if !user.may(Act::Sign) {
        let visit = visits::store::get(app.db.read(), id).await?;
        seen_by = visit.vet_id.map(|vet| vet.to_string()).unwrap_or_default();
    }
    open_as(app, user, id, (submission, seen_by)).await
}

/// Begins to write what is the signed-in person's own decision, whoever saw the rest.
pub(super) async fn open_own(app: &App, user: &User, id: VisitId, submission: &str) -> Result<Begun> {
    open_as(app, user, id, (submission, String::new())).await
}

async fn open_as(
    app: &App,
    user: &User,
    id: VisitId,
    (submission, seen_by): (&str, String),
) -> Result<Begun> {
    let stamped = Stamped { submission: submission.to_owned(), seen_by, ..Stamped::default() };
    match stamp::open(app, user, id, &stamped).await? {
        Opened::Fresh(writing) => Ok(Ok(writing)),
        Opened::Repeat(answer) => Ok(Err(answer)),
        Opened::Wrong(_) => {
            Err(Error::BadRequest("The vet of this visit works here no more; give it another vet".into()))
        }
    }
}

/// The cautions that hold this needle, as they stand inside this transaction.
pub(super) async fn stops(writing: &mut Writing, typed: &Typed) -> Result<Vec<Raised>> {
    let (id, horse, now) = (writing.visit.id, writing.visit.horse_id, writing.now());
    let complaints = visits::store::complaints(&mut **writing.tx(), id).await?;
    let card = horses::store::card(&mut **writing.tx(), horse).await?;
    let practice = practice::store::get(&mut **writing.tx()).await?;
    let today = now.day(&practice.zone);
    let raised = cautions::for_visit(&writing.current, &[], &complaints, &card, today, |_| String::new());
    let skin = needle(typed)
        .and_then(|at| skin::raised(&writing.current, &catalogue().localise, at, &raised, |_| String::new()));
    Ok(raised.into_iter().chain(skin).filter(Raised::holds_needle).collect())
}

/// The limb and the block that a form is about.
fn needle(typed: &Typed) -> Option<(Limb, &'static Block)> {
    let limb = typed.limb.parse().ok()?;
    Some((limb, on(limb, &typed.block)?))
}

/// Writes what a form said, when nothing has to be looked at inside the transaction.
pub(super) async fn once(
    app: &App,
    user: &User,
    (id, submission): (VisitId, &str),
    body: record::Body,
    location: &str,
) -> Result<Response> {
    match open(app, user, id, submission).await? {
        Ok(writing) => keep(writing, user, vec![body], location).await,
        Err(answer) => Ok(answer),
    }
}

/// Commits and leads on; a late entry is acknowledged in words.
pub(super) async fn keep(
    mut writing: Box<Writing>,
    user: &User,
    bodies: Vec<record::Body>,
    location: &str,
) -> Result<Response> {
    if writing.is_late() {
        let line =
            "Kept as a late entry, because the visit is signed. Its signer may take it in as an addendum.";
        flash(writing.tx(), user, line).await?;
    }
    let entries = bodies.into_iter().map(|body| writing.entry(body)).collect();
    writing.keep(entries, location).await
}
