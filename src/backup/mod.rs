//! Copies of everything, and the practice made of one again: for the day on which the machine or its disk is gone.
//!
//! - [`make`]: one consistent copy as one file, tried before it counts.
//! - [`unpack`]: what is in one, held against what it says of itself.
//! - [`keys`]: the keys of the practice, which only its recovery passphrase opens.
//! - [`passphrase`]: that passphrase.
//! - [`log`]: which copies were made, and what became of them.
//! - [`rounds`]: copies that are made by themselves, and [`rotation`], which of them are kept.
//!
//! A copy is the database as it is, for the same program. What a stranger can read in twenty years is an archive.

mod keys;
mod log;
mod make;
mod manifest;
mod pages;
mod passphrase;
mod plan;
mod rotation;
mod rounds;
mod unpack;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub use keys::open as open_keys;
pub use log::{Line, warning};
pub use make::{Made, make};
pub use manifest::Manifest;
pub use passphrase::{is_made as is_sealed, make as make_passphrase, plain};
pub use rotation::{Kept, superfluous};
pub(crate) use rounds::copied;
pub use rounds::{Running, keep};
pub use unpack::{Unpacked, unpack};

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/backups", get(pages::show).post(pages::change))
        .route("/practice/backups/now", post(pages::copy_now))
        .route("/practice/backups/passphrase", post(pages::passphrase))
}
