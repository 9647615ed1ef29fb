//! A video out of a plain form: handed on to the disk as it comes, and looked into when it is whole.

use std::io::Write;

use super::LARGEST;
use crate::{
    App,
    about::Typed,
    attachments::{self, Fault, Incoming, Kept, boxes},
    exam::stamp::Stamped,
    web::Error,
};
use axum::{
    extract::{FromRequest, Multipart, Request},
    http::StatusCode,
};

/// Why a video is not kept.
#[derive(Debug, thiserror::Error)]
pub(super) enum Refused {
    #[error("Choose a video: an MP4 or MOV file.")]
    NoVideo,
    #[error("This video is larger than 1 GB. Cut it, and send the parts.")]
    TooLarge,
    #[error("The video did not arrive as it was announced. Send it again.")]
    OtherFile,
    #[error("The video could not be kept: {0}")]
    NoRoom(anyhow::Error),
}

/// A form as it came; the file of a form without one has no bytes.
pub(super) struct Received {
    pub typed: Typed,
    pub stamped: Stamped,
    pub video: Result<Incoming, Refused>,
}

impl Received {
    pub(super) async fn read(app: &App, request: Request) -> Result<Self, Error> {
        let mut parts = Multipart::from_request(request, app).await.map_err(|_| cut())?;
        let (typed, stamped) = (Typed::default(), Stamped::default());
        let mut received = Received { typed, stamped, video: Err(Refused::NoVideo) };
        while let Some(mut part) = parts.next_field().await.map_err(|error| broken(error.status()))? {
            let name = part.name().unwrap_or_default().to_owned();
            if name == "video" {
                let came = attachments::incoming(app.db.folder(), &mut part, LARGEST).await;
                received.video = came.map_err(|error| broken(error.status()))?.map_err(Refused::from);
                continue;
            }
            let text = part.text().await.map_err(|error| broken(error.status()))?;
            match name.as_str() {
                "condition" => received.typed.condition = text,
                "site" => received.typed.site = text,
                "words" => received.typed.words = text,
                "submission" => received.stamped.submission = text,
                _ => {}
            }
        }
        Ok(received)
    }
}

impl From<Fault> for Refused {
    fn from(fault: Fault) -> Self {
        match fault {
            Fault::TooLarge => Refused::TooLarge,
            Fault::NoRoom(error) => Refused::NoRoom(error),
        }
    }
}

/// Looks into a file that is whole and makes it safe; gives it with its media type. It waits for the disk.
pub(super) fn keep(mut incoming: Incoming) -> Result<(Kept, &'static str), Refused> {
    let look = |incoming: &mut Incoming| {
        incoming.flush()?;
        boxes::beginning(incoming.aside())
    };
    let beginning = look(&mut incoming).map_err(|error| Refused::NoRoom(error.into()))?;
    let kind = boxes::video(&beginning).ok_or(Refused::NoVideo)?;
    Ok((incoming.finish().map_err(Refused::NoRoom)?, kind))
}

fn cut() -> Error {
    Error::BadRequest("The form could not be read".into())
}

fn broken(status: StatusCode) -> Error {
    if status == StatusCode::PAYLOAD_TOO_LARGE { Error::TooLarge } else { cut() }
}
