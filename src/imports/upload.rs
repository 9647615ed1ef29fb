//! A file out of a plain form, read as far as it may be large and refused in words when it is no table.

use axum::{
    extract::{FromRequest, Multipart, Request, State as FromApp, multipart::Field},
    http::StatusCode,
    response::Response,
};

use super::{columns, pages, read, store};
use crate::{
    App,
    accounts::{Can, act},
    web::{Begun, Error, Errors, Result, Shell, begin, repeated},
};

pub(super) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::RunPractice>,
    shell: Shell,
    request: Request,
) -> Result<Response> {
    let mut parts = Multipart::from_request(request, &app).await.map_err(|_| cut())?;
    let (mut submission, mut name, mut bytes) = (String::new(), String::new(), Vec::new());
    while let Some(mut part) = parts.next_field().await.map_err(|error| broken(error.status()))? {
        match part.name().unwrap_or_default() {
            "submission" => submission = part.text().await.map_err(|error| broken(error.status()))?,
            "file" => {
                name = plain(part.file_name().unwrap_or_default());
                bytes = whole(&mut part).await?;
            }
            _ => {}
        }
    }
    if let Some(answer) = repeated(&app, &submission).await? {
        return Ok(answer);
    }
    if name.is_empty() {
        return pages::refused(&app, shell, Errors::one("file", "Choose a CSV file.")).await;
    }
    let table =
        tokio::task::spawn_blocking(move || read::table(&bytes)).await.map_err(anyhow::Error::from)?;
    let table = match table {
        Ok(table) => table,
        Err(refused) => {
            return pages::refused(&app, shell, Errors::one("file", format!("{name}: {refused}"))).await;
        }
    };
    let proposed = columns::propose(&table.header, table.rows.iter().map(|row| row.cells.as_slice()));
    let mut once = match begin(&app, &submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let id = store::insert(&mut once.tx, (&name, &table, &proposed), user.id, once.now).await?;
    once.commit(&format!("/practice/imports/{id}")).await
}

/// A file up to a byte more than may be; what follows is read past, so that the answer reaches the browser.
async fn whole(part: &mut Field<'_>) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    while let Some(piece) = part.chunk().await.map_err(|error| broken(error.status()))? {
        let room = (read::LARGEST + 1).saturating_sub(bytes.len());
        bytes.extend_from_slice(piece.get(..room.min(piece.len())).unwrap_or_default());
    }
    Ok(bytes)
}

/// The name of a file without folders and without what cannot be printed.
fn plain(name: &str) -> String {
    let name = name.rsplit(['/', '\\']).next().unwrap_or_default();
    name.chars().filter(|c| !c.is_control()).take(100).collect()
}

fn cut() -> Error {
    Error::BadRequest("The file did not arrive whole; nothing of it is kept".into())
}

fn broken(status: StatusCode) -> Error {
    if status == StatusCode::PAYLOAD_TOO_LARGE { Error::TooLarge } else { cut() }
}
