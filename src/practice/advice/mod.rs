//! What callers are told: the wordings of the catalogue, each used only once an owner has approved it word for word.

mod pages;
mod store;

use std::collections::HashSet;

use axum::{
    Router,
    routing::{get, post},
};
use sqlx::SqliteExecutor;

use crate::{
    App,
    catalogue::{Row, Urgency, catalogue},
    clock::At,
    db::Tx,
    ids::StaffId,
};

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/practice/advice", get(pages::show).post(pages::approve))
        .route("/practice/advice/withdraw", post(pages::withdraw))
}

/// One wording.
pub(super) struct Wording {
    pub code: &'static str,
    /// The question it answers; for one that holds for a class, that class.
    pub about: String,
    pub text: &'static str,
    pub source: &'static str,
    pub sure: String,
}

/// Every wording there is, in the order of the questions.
pub(super) fn wordings() -> Vec<Wording> {
    let known = catalogue();
    let flags = known.red_flags.iter().map(|flag| Wording {
        code: &flag.code,
        about: format!("{} {}", flag.urgency.words(), flag.ask),
        text: &flag.advice,
        source: flag.source(),
        sure: flag.confidence.words(),
    });
    let sayings = known.sayings.iter().map(|saying| Wording {
        code: &saying.code,
        about: format!("To everybody: {}", classes(&saying.urgency)),
        text: &saying.advice,
        source: saying.source(),
        sure: saying.confidence.words(),
    });
    flags.chain(sayings).collect()
}

fn classes(classes: &[Urgency]) -> String {
    classes.iter().map(|class| class.words()).collect::<Vec<_>>().join(" ")
}

/// The codes whose wording, as it stands, is approved.
pub async fn approved(db: impl SqliteExecutor<'_>) -> sqlx::Result<HashSet<String>> {
    let decisions = store::latest(db).await?;
    let holds = |decision: &store::Decision| {
        decision.approved
            && wordings().iter().any(|one| one.code == decision.code && one.text == decision.wording)
    };
    Ok(decisions.into_iter().filter(holds).map(|decision| decision.code).collect())
}

/// Approves every wording as it stands.
pub async fn approve_all(tx: &mut Tx, by: StaffId, now: At) -> sqlx::Result<()> {
    for one in wordings() {
        store::insert(tx, (one.code, one.text), true, by, now).await?;
    }
    Ok(())
}
