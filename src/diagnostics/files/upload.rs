//! A file of a result out of a form, looked into when it is whole.

use std::io::Write;

use axum::{
    extract::{FromRequest, Multipart, Request, multipart::MultipartError},
    http::StatusCode,
};

use super::{LARGEST, kind};
use crate::{
    App,
    attachments::{self, Fault, Incoming, Kept, shown_name},
    web::Error,
};

/// Why a file is not kept.
#[derive(Debug, thiserror::Error)]
pub(super) enum Refused {
    #[error("Choose a file: a PDF, JPEG, PNG, plain text or CSV.")]
    NoFile,
    #[error("Choose the file again: nothing of it was kept.")]
    OtherFault,
    #[error("This file is larger than 32 MB. Make it smaller, or send its parts.")]
    TooLarge,
    #[error("The file could not be kept: {0}")]
    NoRoom(anyhow::Error),
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::TooLarge => Refused::TooLarge,
            Fault::NoRoom(error) => Refused::NoRoom(error),
        }
    }
}

/// A form as it came; the file of a form without one has no bytes.
pub(super) struct Upload {
    pub submission: String,
    pub words: String,
    /// As it is shown.
    pub name: String,
    pub file: Result<Incoming, Refused>,
}

impl Upload {
    pub(super) async fn read(app: &App, request: Request) -> Result<Self, Error> {
        let unreadable = |_| Error::BadRequest("The form could not be read".into());
        let mut parts = Multipart::from_request(request, app).await.map_err(unreadable)?;
        let (submission, words, name) = (String::new(), String::new(), String::new());
        let mut upload = Upload { submission, words, name, file: Err(Refused::NoFile) };
        while let Some(mut part) = parts.next_field().await.map_err(|error| broken(&error))? {
            match part.name().unwrap_or_default() {
                "file" => {
                    upload.name = shown_name(part.file_name().unwrap_or_default());
                    let came = attachments::incoming(app.db.folder(), &mut part, LARGEST).await;
                    upload.file = came.map_err(|error| broken(&error))?.map_err(Refused::from);
                }
                "file_words" => upload.words = part.text().await.map_err(|error| broken(&error))?,
                "submission" => upload.submission = part.text().await.map_err(|error| broken(&error))?,
                _ => {}
            }
        }
        Ok(upload)
    }
}

/// Looks into a file that is whole and makes it safe; gives it with its media type. It waits for the disk.
pub(super) fn keep(mut incoming: Incoming) -> Result<(Kept, &'static str), Refused> {
    let look = |incoming: &mut Incoming| {
        incoming.flush()?;
        kind::kind(incoming.aside())
    };
    let kind = look(&mut incoming).map_err(|error| Refused::NoRoom(error.into()))?.ok_or(Refused::NoFile)?;
    Ok((incoming.finish().map_err(Refused::NoRoom)?, kind))
}

fn broken(error: &MultipartError) -> Error {
    if error.status() == StatusCode::PAYLOAD_TOO_LARGE {
        return Error::TooLarge;
    }
    Error::BadRequest("The form could not be read".into())
}
