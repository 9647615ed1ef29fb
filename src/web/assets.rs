//! The scripts and styles, inside the binary, under an address that changes when any of them does.

use std::sync::LazyLock;

use axum::{
    Router,
    http::{HeaderValue, StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use rust_embed::RustEmbed;
use sha2::{Digest, Sha256};

use super::{Error, Path, script::linked};

#[derive(RustEmbed)]
#[folder = "$CARGO_MANIFEST_DIR/static"]
struct Static;

/// One name for all files as they are: a page never meets a script of another version.
static REVISION: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Static::iter().collect();
    names.sort();
    let mut hash = Sha256::new();
    for file in names.iter().filter_map(|name| Static::get(name)) {
        hash.update(&file.data);
    }
    crate::record::hex(&hash.finalize())[..12].to_owned()
});

/// The names of the files that pages ask for: the worker keeps them on a tablet. Other scripts come inside of those.
pub fn names() -> impl Iterator<Item = String> {
    let asked = |stem: &str, kind: &str| kind != "js" || stem == "app" || stem.starts_with("page/");
    let asked = move |name: &String| name.rsplit_once('.').is_some_and(|(stem, kind)| asked(stem, kind));
    Static::iter().map(std::borrow::Cow::into_owned).filter(asked)
}

/// A script of `static/` with all that it imports, without comments.
pub fn script(file: &str) -> Option<String> {
    linked(file, text).map(|script| without_comments(&script))
}

fn text(file: &str) -> Option<String> {
    String::from_utf8(Static::get(file)?.data.into_owned()).ok()
}

/// The address of a file of `static/`.
pub fn asset(file: &str) -> String {
    format!("/static/{}/{file}", *REVISION)
}

/// Marks the answer that is a script or a style. A picture is a document too, when it is opened by itself.
#[derive(Clone, Copy)]
pub(super) struct PartOfPage;

pub fn router<S: Clone + Send + Sync + 'static>() -> Router<S> {
    super::kept(Router::new().route("/static/{revision}/{*file}", get(file)))
}

async fn file(Path((revision, name)): Path<(String, String)>) -> Result<Response, Error> {
    let file = Static::get(&name).ok_or(Error::NotFound)?;
    let kind = match name.rsplit_once('.').map(|(_, ext)| ext) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("webmanifest") => "application/manifest+json",
        _ => "application/octet-stream",
    };
    let keep = if revision == *REVISION { "public, max-age=31536000, immutable" } else { "no-cache" };
    let body = match kind.split(';').next() {
        Some("text/javascript") => script(&name).ok_or(Error::NotFound)?.into_bytes(),
        Some("text/css") => without_comments(&String::from_utf8_lossy(&file.data)).into_bytes(),
        _ => file.data.to_vec(),
    };
    let mut response = (StatusCode::OK, body).into_response();
    response.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(kind));
    response.headers_mut().insert(header::CACHE_CONTROL, HeaderValue::from_static(keep));
    if kind.starts_with("text/") {
        response.extensions_mut().insert(PartOfPage);
    }
    Ok(response)
}

/// A script or a style with its lines of comment left empty: they are for whoever reads the source, and a fifth of
/// what a tablet would fetch. Every other line keeps its number.
fn without_comments(code: &str) -> String {
    let mut inside = false;
    let mut kept = String::with_capacity(code.len());
    for line in code.lines() {
        let bare = line.trim();
        let begun = inside || bare.starts_with("/*");
        let ends = begun.then(|| bare.split_once("*/")).flatten();
        inside = begun && ends.is_none();
        let only_comment =
            inside || bare.starts_with("//") || ends.is_some_and(|(_, code)| code.trim().is_empty());
        if !only_comment {
            kept.push_str(line);
        }
        kept.push('\n');
    }
    kept
}
