//! Taking back a block or a look: with a reason, and both versions stay. A block takes its looks with it.

use axum::{extract::State, response::Response};
use serde::Deserialize;

use super::{pages, write};
use crate::{
    App,
    accounts::{Can, act},
    ids::{EntryId, VisitId},
    record::{Body, Kind},
    web::{Check, Error, Form, Path, Result, Shell, flash},
};

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    submission: String,
    why: String,
}

const KINDS: [Kind; 2] = [Kind::Block, Kind::Reading];

pub(super) async fn send(
    State(app): State<App>,
    can: Can<act::Examine>,
    shell: Shell,
    Path((id, entry)): Path<(VisitId, EntryId)>,
    Form(typed): Form<Typed>,
) -> Result<Response> {
    let mut check = Check::new();
    let why = check.needed("why", &typed.why, 500, "Say why; both versions stay in the record.");
    if let Err(errors) = check.done(()) {
        return pages::again_at(&app, &can.user, shell, (id, entry, typed.why), errors).await;
    }
    let mut writing = match write::open(&app, &can.user, id, &typed.submission).await? {
        Ok(writing) => writing,
        Err(answer) => return Ok(answer),
    };
    let is_ours = |body: &Body| KINDS.contains(&body.kind);
    let about = |body: &Body| body.kind == Kind::Reading && body.about == Some(entry);
    let standing = writing.current.iter().filter_map(|one| Some((one.id, one.body.as_ref()?)));
    let gone: Vec<EntryId> = standing
        .filter(|(id, body)| is_ours(body) && (*id == entry || about(body)))
        .map(|(id, _)| id)
        .collect();
    if !gone.contains(&entry) {
        return Err(Error::NotFound);
    }
    let mut entries = Vec::new();
    for gone in gone {
        let body = Body { reason: Some(why.clone()), about: Some(gone), ..Body::new(Kind::Withdrawal) };
        entries.push(writing.entry(body).superseding(gone));
    }
    flash(writing.tx(), &can.user, "Taken back; it stays in the record with the reason.").await?;
    writing.keep(entries, &format!("/visits/{id}/work-up")).await
}
