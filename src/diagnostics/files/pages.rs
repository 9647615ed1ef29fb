//! A file on its way in, and on its way out.

use axum::{
    body::Body,
    extract::{Request, State as FromApp},
    http::{HeaderValue, header},
    response::Response,
};
use tower_http::services::ServeFile;

use super::{
    store,
    upload::{self, Refused, Upload},
};
use crate::{
    App,
    accounts::{Can, act},
    attachments,
    diagnostics::{page, said::Said, sheet::Sheet},
    ids::{EntryId, OrderId},
    record::{self, Body as Words, Kind, NewEntry, Stamp},
    web::{Begun, Bound, Check, Error, Path, Result, Shell, begin_upload, flash},
};

const LONGEST_WORDS: usize = 200;
/// It runs nothing, whatever is in it.
const POLICY: HeaderValue = HeaderValue::from_static("default-src 'none'; sandbox");

/// The file is safe before the record speaks of it.
pub(in crate::diagnostics) async fn send(
    FromApp(app): FromApp<App>,
    Can { user, .. }: Can<act::Examine>,
    shell: Shell,
    Path(id): Path<OrderId>,
    request: Request,
) -> Result<Response> {
    let sheet = Sheet::load(&app, id).await?;
    let Upload { submission, words: typed, name, file } = Upload::read(&app, request).await?;
    let mut check = Check::new();
    let words = check.line("file_words", &typed, LONGEST_WORDS);
    let kept = match file {
        _ if sheet.order.is_closed() => return Err(sheet.clash("What it is", &typed, "the order is closed")),
        // Nothing is kept while something else is wrong.
        Ok(file) if check.errors.is_empty() => {
            tokio::task::spawn_blocking(move || upload::keep(file)).await.map_err(anyhow::Error::from)?
        }
        Ok(_) => Err(Refused::OtherFault),
        Err(refused) => Err(refused),
    };
    let (kept, kind) = match kept {
        Ok(kept) => kept,
        Err(refused) => {
            check.errors.add("file", refused.to_string());
            let said = Said { file_words: typed, ..Said::default() };
            return page::again(&app, shell, id, said, check.errors).await;
        }
    };
    let bound = Bound { route: format!("/diagnostics/{id}/files"), content: kept.name.clone() };
    let mut once = match begin_upload(&app, &submission, user.id, bound).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(response) => return Ok(response),
    };
    attachments::insert(&mut once.tx, &kept, kind, once.now).await?;
    let name = if name.is_empty() { "file".to_owned() } else { name };
    let text = if words.is_empty() { name } else { format!("{words} ({name})") };
    let body = Words { value: Some(kept.name), text: Some(text), order: Some(id), ..Words::new(Kind::File) };
    let entry = NewEntry::new(sheet.order.visit_id, body);
    let stamp = Stamp::here(user.id, &user.agent, once.now);
    record::append(&mut once.tx, &stamp, &[entry]).await?;
    flash(&mut once.tx, &user, "The file is kept.").await?;
    once.commit(&format!("/diagnostics/{id}#files")).await
}

/// The file as it was sent, for the browser to save under a name that we make.
pub(in crate::diagnostics) async fn download(
    FromApp(app): FromApp<App>,
    _: Can<act::SeeRecord>,
    Path((id, entry)): Path<(OrderId, EntryId)>,
    request: Request,
) -> Result<Response> {
    let sheet = Sheet::load(&app, id).await?;
    let all = store::of_order(app.db.read(), id).await?;
    let file = all.into_iter().find(|file| file.entry == entry).ok_or(Error::NotFound)?;
    let path = attachments::path(app.db.folder(), &file.sha256);
    let served = ServeFile::new(path).try_call(request).await.map_err(anyhow::Error::from)?;
    let mut response = served.map(Body::new);
    let ending = match file.kind.as_str() {
        "application/pdf" => "pdf",
        "image/jpeg" => "jpg",
        "image/png" => "png",
        "text/csv" => "csv",
        _ => "txt",
    };
    let digest = file.sha256.get(..8).unwrap_or_default();
    let saved = format!("attachment; filename=\"{}-{digest}.{ending}\"", sheet.order.accession);
    let value = |text: &str| HeaderValue::from_str(text).map_err(anyhow::Error::from);
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_TYPE, value(&file.kind)?);
    headers.insert(header::CONTENT_DISPOSITION, value(&saved)?);
    headers.insert(header::CONTENT_SECURITY_POLICY, POLICY);
    Ok(response)
}
