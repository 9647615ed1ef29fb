//! A paper as a PDF: the article of its page set on A4, tagged for screen readers, with its fonts inside.
//!
//! There is one text of a paper, its HTML. Here it is read into blocks ([`read`]), the blocks are set as strips
//! ([`set`], [`table`]), and the strips stacked on pages ([`page`]). What stands on the screen only (`no-print`, forms,
//! buttons) is left out; drawings stay drawings.

mod block;
mod drawing;
mod page;
mod read;
mod set;
mod strip;
mod table;
mod text;

use axum::{
    body::to_bytes,
    handler::Handler,
    http::{StatusCode, header},
    middleware,
    response::{IntoResponse, Response},
    routing::{self, MethodRouter},
};

use crate::{
    App,
    web::{Error, Result},
};

/// No page that is read is longer, in bytes: a whole record of years has some millions.
const LONGEST: usize = 64 << 20;

/// The same handler as on the page's own address, its answer as a PDF.
pub fn get<H, T>(page: H) -> MethodRouter<App>
where
    H: Handler<T, App>,
    T: 'static,
{
    routing::get(page).layer(middleware::map_response(answer))
}

/// A page that is there becomes a file; a refusal or a way elsewhere stays what it is.
async fn answer(response: Response) -> Result<Response> {
    if response.status() != StatusCode::OK {
        return Ok(response);
    }
    let html = to_bytes(response.into_body(), LONGEST).await.map_err(|_| Error::TooLarge)?;
    let (name, file) = tokio::task::spawn_blocking(move || of(&String::from_utf8_lossy(&html)))
        .await
        .map_err(anyhow::Error::from)?
        .map_err(Error::Internal)?;
    let headers = [
        (header::CONTENT_TYPE, "application/pdf".to_owned()),
        (header::CONTENT_DISPOSITION, format!("inline; filename=\"{name}.pdf\"")),
    ];
    Ok((headers, file).into_response())
}

/// The name of the file, after the page's title, and the file.
fn of(html: &str) -> anyhow::Result<(String, Vec<u8>)> {
    let read = read::page(html).ok_or_else(|| anyhow::anyhow!("the page has no paper on it"))?;
    let file = page::file(&read).map_err(|fault| anyhow::anyhow!("{} as a PDF: {fault}", read.title))?;
    Ok((name(&read.title), file))
}

/// Small letters, digits and hyphens: "report-butterbur-25-may-2026".
fn name(title: &str) -> String {
    let words = title.to_lowercase();
    let parts: Vec<&str> =
        words.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty()).collect();
    if parts.is_empty() { "paper".to_owned() } else { parts.join("-") }
}
