//! Files sent by hand: several in one form, each handed on to the disk as it comes.

use axum::{
    extract::{FromRequest, Multipart, Request, State as FromApp, multipart::Field},
    http::StatusCode,
    response::Response,
};

use super::{
    Source,
    store::settings,
    take::{self, Bringer, Coming, Pipe, Refused, Taken},
    tray,
};
use crate::{
    App,
    accounts::{Can, act},
    attachments::shown_name,
    web::{Begun, Error, Errors, Result, Shell, begin, flash, repeated},
};

/// Files of one form.
const MOST: usize = 500;

/// What became of the files of a form.
#[derive(Default)]
struct Done {
    taken: usize,
    known: usize,
    refused: Vec<String>,
}

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    request: Request,
) -> Result<Response> {
    let unreadable = |_| Error::BadRequest("The form could not be read".into());
    let mut parts = Multipart::from_request(request, &app).await.map_err(unreadable)?;
    let (mut submission, mut done, mut files) = (String::new(), Done::default(), 0);
    while let Some(mut part) = parts.next_field().await.map_err(|_| cut())? {
        match part.name().unwrap_or_default() {
            "submission" => {
                submission = part.text().await.map_err(|_| cut())?;
                if let Some(answer) = repeated(&app, &submission).await? {
                    return Ok(answer);
                }
            }
            "files" if part.file_name().is_some_and(|name| !name.is_empty()) => {
                files += 1;
                let name = shown_name(part.file_name().unwrap_or_default());
                if files > MOST {
                    done.refused.push(format!("{name}: send it again, with {MOST} files at once at most."));
                    continue;
                }
                match one(&app, &mut part, &name).await? {
                    Ok(Taken::Known) => done.known += 1,
                    Ok(_) => done.taken += 1,
                    Err(refused) => done.refused.push(format!("{name}: {refused}.")),
                }
            }
            _ => {}
        }
    }
    if files == 0 {
        return tray::refused(&app, shell, Errors::one("files", "Choose the files to send.")).await;
    }
    if !done.refused.is_empty() {
        let mut errors = Errors::default();
        done.refused.iter().for_each(|sentence| errors.add("files", sentence.as_str()));
        return tray::refused(&app, shell, errors).await;
    }
    let mut once = match begin(&app, &submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    let line = match done.known {
        0 => format!("{} came in.", done.taken),
        known => format!("{} came in, {known} were here already.", done.taken),
    };
    flash(&mut once.tx, &user, &line).await?;
    once.commit(tray::TRAY).await
}

/// One file, from its first piece to its row.
async fn one(app: &App, part: &mut Field<'_>, name: &str) -> Result<std::result::Result<Taken, Refused>> {
    let largest = settings::get(app.db.read()).await?.largest_bytes.unsigned_abs();
    let data = app.db.folder().to_owned();
    let mut pipe = Pipe::open(move || Ok(Coming::file(&data, largest)), Coming::push);
    let mut open = true;
    while let Some(piece) = part.chunk().await.map_err(|error| broken(error.status()))? {
        // What follows a refusal is read past, so that the other files of the form are reached.
        open = open && pipe.push(piece.to_vec()).await;
    }
    let from = Bringer { source: Source::Upload, name: name.to_owned() };
    Ok(match pipe.end().await {
        Ok(coming) => take::keep(app, coming, &from).await,
        Err(refused) => Err(refused),
    })
}

fn cut() -> Error {
    Error::BadRequest("The files did not arrive whole. Those before them are kept".into())
}

fn broken(status: StatusCode) -> Error {
    if status == StatusCode::PAYLOAD_TOO_LARGE { Error::TooLarge } else { cut() }
}
