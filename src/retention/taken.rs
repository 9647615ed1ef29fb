//! The record of one horse as a file for whoever it belongs to: as an archive or as FHIR. What was recorded for a former owner
//! stays here, unless somebody says why it goes along; each time stands in the audit.

use axum::{
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::horse::{RecordPage, way};
use crate::{
    App,
    accounts::{Can, act},
    archive::{self, Asked, Whose},
    audit, fhir, horses,
    ids::{AuditId, HorseId},
    web::{Begun, Check, Error, Errors, Form, Path, Result, Shell, begin, invalid},
};

pub(super) const CHOICES: [(&str, &str); 2] =
    [("archive", "archive, to be read by anybody (zip)"), ("fhir", "FHIR R4B, for another program (JSON)")];
/// How the audit says it, with the former owners' time and without.
const SAID: [(&str, &str, &str); 2] = [
    ("archive", "record taken as archive", "whole record taken as archive"),
    ("fhir", "record taken as FHIR", "whole record taken as FHIR"),
];
/// So long after it was asked for the file can be fetched.
const MINUTES: i64 = 10;
const LONGEST: usize = 500;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct TakeForm {
    pub submission: String,
    pub take: String,
    pub whole: String,
    pub why: String,
}

impl TakeForm {
    /// What the audit says, and why the whole goes along where it does.
    fn check(&self) -> std::result::Result<(&'static str, String), Errors> {
        let mut c = Check::new();
        let said = SAID.iter().find(|(key, _, _)| *key == self.take);
        if said.is_none() {
            c.errors.add("take", "Choose how it is taken along.");
        }
        let whole_goes = self.whole == "yes";
        let why = if whole_goes {
            c.needed_words(
                "why",
                &self.why,
                LONGEST,
                "Write why the former owners' time goes along, such as who allowed it.",
            )
        } else {
            c.words("why", &self.why, LONGEST)
        };
        if !whole_goes && !why.is_empty() {
            c.errors.add("whole", "You wrote why the whole goes along: tick it, or take the words away.");
        }
        let Some((_, part, whole)) = said else { return Err(c.errors) };
        c.done((if whole_goes { *whole } else { *part }, why))
    }
}

/// Leaves the line in the audit, and leads to the file.
pub(super) async fn ask(
    State(app): State<App>,
    Can { user, .. }: Can<act::SeeRecord>,
    shell: Shell,
    Path(id): Path<HorseId>,
    Form(form): Form<TakeForm>,
) -> Result<Response> {
    let page = RecordPage::new(&app, shell, id).await?;
    let (what, why) = match form.check() {
        Ok(meant) => meant,
        Err(errors) => return Ok(invalid(page.with_take(form, errors))),
    };
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let taking =
        audit::store::note(&mut once.tx, what, &detail(id, page.name(), &why), user.id, once.now).await?;
    once.commit(&format!("{}/taken/{taking}", way(id))).await
}

/// The horse comes first: the file is of no other one.
fn detail(id: HorseId, name: &str, why: &str) -> String {
    if why.is_empty() { format!("{id} {name}") } else { format!("{id} {name}: {why}") }
}

/// The file, for whoever has just asked for it.
pub(super) async fn fetch(
    State(app): State<App>,
    Can { user, .. }: Can<act::SeeRecord>,
    Path((id, taking)): Path<(HorseId, AuditId)>,
) -> Result<Response> {
    let db = app.db.read();
    let (line, by, at) = audit::store::one(db, taking).await?;
    let said = audit::store::detail(db, taking).await?;
    let (key, _, whole) =
        SAID.iter().find(|(_, part, whole)| line == *part || line == *whole).ok_or(Error::NotFound)?;
    let name = horses::store::card(db, id).await?.name;
    let Some(why) = said.strip_prefix(&detail(id, &name, "")) else { return Err(Error::NotFound) };
    if by != user.id || app.clock.now().minutes_since(at) >= MINUTES {
        return Err(Error::NotFound);
    }
    let since = if line == *whole { None } else { horses::store::owned_since(db, id).await? };
    if *key == "fhir" {
        return fhir::collection(&app, id, since).await;
    }
    let reason = why.trim_start_matches(": ").to_owned();
    let asked =
        Asked { whose: Whose::Horse { id, since, reason }, by: user.name.clone(), now: app.clock.now() };
    let body = archive::body(&app, asked).await?;
    let named = format!("attachment; filename=\"horse-{id}.zip\"");
    let headers =
        [(header::CONTENT_TYPE, archive::MEDIA_TYPE.to_owned()), (header::CONTENT_DISPOSITION, named)];
    Ok((headers, body).into_response())
}
