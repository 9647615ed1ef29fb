//! Videos of gait. Each is an entry of the record, as a photo is (`image`, its `value` the file's SHA-256, its `code` the
//! condition or its place), and a file kept as it was sent.
//!
//! - [`list`]: the videos of a visit, and one more out of a plain form ([`receive`]).
//! - [`pieces`]: one more in pieces, which goes on where it was cut off; [`upload`] is what it says and how far it is.
//! - [`play`]: a video, another one of the same horse beside it, and the file in ranges. What it shows is told as it is of a photo ([`crate::about`]).

mod list;
mod pieces;
mod play;
mod receive;
mod store;
mod upload;

use axum::{
    Router,
    extract::DefaultBodyLimit,
    routing::{get, post, put},
};

pub use pieces::clear_half;
pub use store::{Video, of_horse};

use crate::App;

/// Bytes of the largest video.
const LARGEST: u64 = 1024 * 1024 * 1024;
/// Bytes of a piece; the last one is what is left.
const PIECE: u64 = 4 * 1024 * 1024;

pub fn router() -> Router<App> {
    Router::new()
        .route("/visits/{id}/videos", get(list::page).post(list::send))
        // The file is held to its bound as it comes.
        .layer(DefaultBodyLimit::disable())
        .route("/videos/uploads", post(pieces::begin))
        .route("/videos/uploads/{id}/pieces/{number}", put(pieces::take))
        .route("/videos/uploads/{id}/finish", post(pieces::finish))
        .route("/videos/{id}", get(play::page))
        .route("/videos/{id}/file", get(play::file))
}
