//! A photo out of a form: as a browser sends a file, or as a tablet's queue does, in letters.

use axum::{
    extract::{FromRequest, Multipart, Request, multipart::MultipartError},
    http::{StatusCode, header},
};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::Deserialize;

use crate::{
    App, about,
    exam::stamp::Stamped,
    web::{Error, Form},
};

/// What was sent; an unreadable or absent photo has no bytes.
#[derive(Default)]
pub(super) struct Upload {
    pub about: about::Typed,
    pub stamped: Stamped,
    pub bytes: Vec<u8>,
}

#[derive(Deserialize, Default)]
#[serde(default)]
struct Typed {
    submission: String,
    seen_by: String,
    seen_at: String,
    sent_at: String,
    entry: Vec<String>,
    #[serde(flatten)]
    about: about::Typed,
    photo: String,
}

impl FromRequest<App> for Upload {
    type Rejection = Error;
    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|v| v.to_str().ok());
        if kind.is_some_and(|kind| kind.starts_with("multipart/form-data")) {
            let unreadable = |_| Error::BadRequest("The form could not be read".into());
            let parts = Multipart::from_request(request, app).await.map_err(unreadable)?;
            return from_parts(parts).await.map_err(|e| broken(&e));
        }
        let Form(typed) = Form::<Typed>::from_request(request, app).await?;
        let Typed { submission, seen_by, seen_at, sent_at, entry, about, photo } = typed;
        let stamped = Stamped { submission, seen_by, seen_at, sent_at, entry };
        Ok(Upload { about, stamped, bytes: URL_SAFE_NO_PAD.decode(photo.trim()).unwrap_or_default() })
    }
}

async fn from_parts(mut parts: Multipart) -> Result<Upload, MultipartError> {
    let mut upload = Upload::default();
    while let Some(part) = parts.next_field().await? {
        match part.name().unwrap_or_default() {
            "photo" => upload.bytes = part.bytes().await?.to_vec(),
            "words" => upload.about.words = part.text().await?,
            "condition" => upload.about.condition = part.text().await?,
            "site" => upload.about.site = part.text().await?,
            "submission" => upload.stamped.submission = part.text().await?,
            "seen_by" => upload.stamped.seen_by = part.text().await?,
            _ => {}
        }
    }
    Ok(upload)
}

fn broken(error: &MultipartError) -> Error {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        return Error::TooLarge;
    }
    Error::BadRequest("The form could not be read".into())
}
