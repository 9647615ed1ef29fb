//! The service worker: one script at the root, so that it answers for every page. The revision of the static files
//! names the store they are kept in.

use axum::{
    http::header,
    response::{IntoResponse, Response},
};

use crate::{
    exam::picks,
    web::{Error, Result, assets},
};

/// Asked for again at each visit, so that a new version of the program brings its own.
pub(super) async fn script() -> Result<Response> {
    let text = assets::script("worker.js").ok_or(Error::NotFound)?;
    let folder = assets::asset("");
    let mut files: Vec<String> = assets::names().map(|name| format!("{folder}{name}")).collect();
    files.push(picks::address().to_owned());
    let files = serde_json::to_string(&files).map_err(anyhow::Error::from)?;
    let text = text.replace("[/* files */]", &files);
    let headers =
        [(header::CONTENT_TYPE, "text/javascript; charset=utf-8"), (header::CACHE_CONTROL, "no-cache")];
    Ok((headers, text).into_response())
}
