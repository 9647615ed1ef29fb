//! The page where everything is taken along, and the file itself.

use askama::Template;
use askama_web::WebTemplate;
use axum::{
    Extension,
    body::Body,
    extract::State,
    http::header,
    response::{IntoResponse, Response},
};
use serde::Deserialize;

use super::{tables, vcard};
use crate::{
    App,
    accounts::{self, Can, act, confirm},
    archive::{self, Asked, Whose},
    audit, clients,
    ids::AuditId,
    web::{Begun, Check, Error, Errors, Form, Path, Peer, Result, Shell, begin, invalid, repeated},
};

const EVERYTHING: &str = "exported everything";
const ARCHIVE: &str = "exported an archive";
const CONTACTS: &str = "exported the contacts";
const CHOICES: [(&str, &str); 3] = [
    ("archive", "archive: everything with photos and videos, for good (zip)"),
    ("everything", "everything, as tables (zip of CSV files)"),
    ("contacts", "contacts, for an address book (vCard)"),
];
/// So long after the password was shown the file can be fetched.
const MINUTES: i64 = 10;

#[derive(Template, WebTemplate)]
#[template(path = "exports/page.html")]
struct ExportPage {
    shell: Shell,
    errors: Errors,
    what: String,
    factor: String,
}

impl ExportPage {
    fn choices(&self) -> [(&'static str, &'static str); 3] {
        CHOICES
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct ExportForm {
    submission: String,
    what: String,
    password: String,
    factor: String,
}

pub(super) async fn page(_: Can<act::RunPractice>, shell: Shell) -> Response {
    ExportPage { shell, errors: Errors::default(), what: String::new(), factor: String::new() }
        .into_response()
}

/// Takes the password and, where there is a second factor, its code; leaves the line in the audit, and leads to the file.
pub(super) async fn ask(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    peer: Option<Extension<Peer>>,
    Form(form): Form<ExportForm>,
) -> Result<Response> {
    if let Some(first) = repeated(&app, &form.submission).await? {
        return Ok(first);
    }
    let mut check = Check::new();
    if !CHOICES.iter().any(|(key, _)| *key == form.what) {
        check.errors.add("what", "Choose what is to be taken along.");
    }
    if !accounts::confirm(&app, &user, peer, &form.password).await? {
        check.errors.add("password", "This is not your password. A PIN is not enough here.");
    }
    confirm::second_beside(&app, &user, peer, ("factor", &form.factor), &mut check.errors).await?;
    if !check.errors.is_empty() {
        let ExportForm { what, factor, .. } = form;
        return Ok(invalid(ExportPage { shell, errors: check.errors, what, factor }));
    }
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let what = match form.what.as_str() {
        "archive" => ARCHIVE,
        "contacts" => CONTACTS,
        _ => EVERYTHING,
    };
    let id = audit::store::note(&mut once.tx, what, "", user.id, once.now).await?;
    once.commit(&format!("/practice/exports/{id}")).await
}

/// The file, for whoever has just asked for it.
pub(super) async fn fetch(
    State(app): State<App>,
    Can { user, .. }: Can<act::RunPractice>,
    Path(id): Path<AuditId>,
) -> Result<Response> {
    let (what, by, at) = audit::store::one(app.db.read(), id).await?;
    if by != user.id || app.clock.now().minutes_since(at) >= MINUTES {
        return Err(Error::NotFound);
    }
    match what.as_str() {
        EVERYTHING => {
            // One transaction: all tables as they are at one moment.
            let mut tx = app.db.read().begin().await?;
            let bytes = tables::zipped(&mut tx).await?;
            Ok(attachment("application/zip", "practice.zip", bytes))
        }
        ARCHIVE => {
            let asked = Asked { whose: Whose::Practice, by: user.name.clone(), now: app.clock.now() };
            let body = archive::body(&app, asked).await?;
            Ok(attachment(archive::MEDIA_TYPE, "practice-archive.zip", body))
        }
        CONTACTS => {
            let mut cards = String::new();
            for (id, details) in clients::store::everybody(app.db.read()).await? {
                cards.push_str(&vcard::card(id, &details));
            }
            Ok(attachment(vcard::MEDIA_TYPE, "contacts.vcf", cards.into_bytes()))
        }
        _ => Err(Error::NotFound),
    }
}

fn attachment(kind: &'static str, name: &str, bytes: impl Into<Body>) -> Response {
    let named = format!("attachment; filename=\"{name}\"");
    ([(header::CONTENT_TYPE, kind.to_owned()), (header::CONTENT_DISPOSITION, named)], bytes.into())
        .into_response()
}
