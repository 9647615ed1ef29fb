//! What every page shares and no feature knows: errors, forms, the shell around a page, assets, headers.

pub mod assets;
mod check;
mod error;
mod extract;
pub mod headers;
mod once;
mod origin;
mod prefer;
mod script;
mod shell;
mod typed;

pub use crate::serve::Peer;
pub use assets::asset;
pub use check::{Check, Errors, shown};
pub use error::{Conflict, Difference, Error, Result};
pub use extract::{Form, Path, Query};
pub use once::{Begun, Bound, Once, begin, begin_upload, number, repeated, seen, uploaded};
pub use shell::{NavItem, Shell, Signed, flash};

use axum::{Router, extract::DefaultBodyLimit, middleware};
use tower_http::{
    CompressionLevel,
    catch_panic::CatchPanicLayer,
    compression::{CompressionLayer, DefaultPredicate, Predicate, predicate::NotForContentType},
    csrf::CsrfLayer,
};

/// What the log says of who came in and who was turned away goes by this name, and is kept unless somebody turns it off:
/// ids and addresses, no names and nothing that was typed.
pub const DOOR: &str = "door";

/// The largest form that is read.
const LARGEST_FORM: usize = 1024 * 1024;

/// The last quick level of brotli, and as good a one of zstd, which is quicker still for browsers that know it.
const COMPRESSION: CompressionLevel = CompressionLevel::Precise(4);

/// For what a browser fetches once and keeps for a year: a tenth lighter again, for as long as ten pages take.
const COMPRESSION_ONCE: CompressionLevel = CompressionLevel::Precise(10);

/// Routes whose answers are fetched once and kept.
pub fn kept<S: Clone + Send + Sync + 'static>(router: Router<S>) -> Router<S> {
    router.layer(CompressionLayer::new().no_zstd().quality(COMPRESSION_ONCE))
}

/// The layers around all routes, innermost first.
pub fn layers(router: Router) -> Router {
    // A video is as small as it gets, and whoever plays it asks for parts of it as they are; so is what is packed already.
    let worth = DefaultPredicate::new()
        .and(NotForContentType::const_new("video/"))
        .and(NotForContentType::const_new("application/zip"));
    router
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(middleware::from_fn(typed::keep))
        .layer(CsrfLayer::new())
        .layer(middleware::from_fn(origin::required_for_changes))
        .layer(CatchPanicLayer::custom(error::panicked))
        .layer(middleware::from_fn(prefer::minimal))
        .layer(CompressionLayer::new().quality(COMPRESSION).compress_when(worth))
        .layer(middleware::from_fn(headers::add))
        .layer(middleware::from_fn(error::log_requests))
}

/// A redirect after a good POST.
pub fn see_other(location: &str) -> axum::response::Response {
    use axum::response::IntoResponse;
    axum::response::Redirect::to(location).into_response()
}

/// The page again, as it was typed, with what is wrong beside the fields.
pub fn invalid(page: impl axum::response::IntoResponse) -> axum::response::Response {
    use axum::response::IntoResponse;
    (axum::http::StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}
