//! What a script says of the video that it will send in pieces, and how far that has come.

use std::collections::BTreeMap;

use axum::{
    Json,
    http::StatusCode,
    response::{IntoResponse, Response},
};
use serde::{Deserialize, Serialize};

use super::{
    LARGEST, PIECE,
    receive::Refused,
    store::uploads::{self, Upload},
};
use crate::{
    App,
    about::Typed,
    ids::{StaffId, VisitId},
    web::{Check, Errors, Result, number},
};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct UploadForm {
    submission: String,
    visit: String,
    name: String,
    bytes: String,
    digest: String,
    condition: String,
    site: String,
    words: String,
}

impl UploadForm {
    /// Everything that is wrong stands under the field of the page that it is about.
    pub(super) fn check(self, staff: StaffId) -> Result<std::result::Result<Upload, Errors>> {
        let id = number(&self.submission)?;
        let mut check = Check::new();
        let typed = Typed { condition: self.condition, site: self.site, words: self.words };
        let about = typed.check_placed(&mut check);
        let visit: Option<VisitId> = check.choice("visit", &self.visit, "Say which visit it belongs to.");
        let name = check.needed("video", &self.name, 100, "Choose a video: an MP4 or MOV file.");
        let bytes: i64 = self.bytes.trim().parse().unwrap_or(0);
        if bytes < 1 && check.errors.on("video").is_none() {
            check.errors.add("video", Refused::NoVideo.to_string());
        } else if bytes.unsigned_abs() > LARGEST {
            check.errors.add("video", Refused::TooLarge.to_string());
        }
        if !is_digest(&self.digest) {
            check.errors.add("digest", "Say the digest of the file: 64 hexadecimal digits.");
        }
        let (condition, site) = (about.condition().to_owned(), about.site());
        let (words, digest) = (about.words().to_owned(), self.digest);
        let upload = visit.map(|visit_id| Upload {
            id,
            staff_id: staff,
            visit_id,
            name,
            bytes,
            digest,
            condition,
            site,
            words,
        });
        Ok(match upload {
            Some(upload) if check.errors.is_empty() => Ok(upload),
            _ => Err(check.errors),
        })
    }
}

impl Upload {
    /// What it is about, read as it was when it began.
    pub(super) fn typed(&self) -> Typed {
        let Upload { condition, site, words, .. } = self.clone();
        Typed { condition, site, words }
    }

    /// Of so many pieces.
    pub(super) fn count(&self) -> i64 {
        self.bytes.unsigned_abs().div_ceil(PIECE).cast_signed()
    }

    /// The bytes of a piece; `None` when there is none of this number.
    pub(super) fn length(&self, number: i64) -> Option<u64> {
        let begins = u64::try_from(number).ok()?.checked_mul(PIECE)?;
        Some(self.bytes.unsigned_abs().checked_sub(begins)?.min(PIECE)).filter(|length| *length > 0)
    }

    /// The pieces that are still to come.
    pub(super) async fn missing(&self, app: &App) -> Result<Vec<i64>> {
        let here = uploads::pieces(app.db.read(), self.id).await?;
        Ok((0..self.count()).filter(|number| !here.contains(number)).collect())
    }

    /// The same file for the same visit.
    pub(super) fn is_same_file(&self, other: &Upload) -> bool {
        let of = |one: &Upload| (one.staff_id, one.visit_id, one.bytes, one.digest.clone());
        of(self) == of(other)
    }
}

/// Sixty-four small hexadecimal digits.
pub(super) fn is_digest(text: &str) -> bool {
    text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// How far an upload has come.
#[derive(Debug, Serialize)]
pub(super) struct Progress {
    pub missing: Vec<i64>,
    pub piece_bytes: u64,
}

impl Progress {
    pub(super) fn answer(missing: Vec<i64>, status: StatusCode) -> Response {
        (status, Json(Progress { missing, piece_bytes: PIECE })).into_response()
    }
}

/// What is wrong, a sentence a field.
pub(super) fn wrong(errors: &Errors) -> Response {
    let errors: BTreeMap<&str, &str> =
        errors.all().iter().map(|(field, words)| (field.as_str(), words.as_str())).collect();
    (StatusCode::UNPROCESSABLE_ENTITY, Json(serde_json::json!({ "errors": errors }))).into_response()
}
