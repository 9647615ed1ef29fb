//! The second factor: what somebody shows beside the password that only a device of theirs can know.
//!
//! - [`codes`]: codes by the clock (RFC 6238), and recovery codes for the day the device is lost.
//! - [`spend`]: using up what was typed; a code is good once.
//! - [`door`]: the second page of signing in, and the half-made sign-in that waits for it.
//! - [`pages`]: setting it up, at everybody's own page.
//! - [`duty`]: an owner of a real practice is asked for one, and after a week held to it.

pub mod codes;
mod door;
mod duty;
mod pages;
mod spend;
pub mod store;

use axum::{
    Router,
    routing::{get, post},
};

pub use duty::Duty;

pub(super) use door::{begin, public};
pub(super) use duty::{is_due, where_to};
pub(super) use spend::spend;

use crate::{App, db::Tx, ids::StaffId};

/// The key of the secrets, in the data folder.
pub const FILE: &str = "second-factor.key";
/// What errors call what is sealed with it.
pub const SEALED: &str = "the second factors";
/// What is said of a code that opens nothing, whatever is wrong with it.
pub const WRONG: &str = "This code is not good: mistyped, too old, or used already. Wait for the next one.";

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/me/second-factor", get(pages::show))
        .route("/me/second-factor/begin", post(pages::propose))
        .route("/me/second-factor/confirm", post(pages::take))
        .route("/me/second-factor/later", post(pages::later))
        .route("/me/second-factor/codes", get(pages::codes).post(pages::new_codes))
        .route("/me/second-factor/remove", post(pages::remove))
}

/// Under which name failed codes of an account are counted: a right password gives no fresh tries at the code.
pub(super) fn throttled(name: &str) -> String {
    // No account has a name like this.
    format!("{name}\u{1}code")
}

/// Takes the second factor from an account and signs it out everywhere: its device is lost.
pub async fn take_away(tx: &mut Tx, staff: StaffId) -> sqlx::Result<()> {
    store::remove(tx, staff).await?;
    super::keeping::end_sessions(tx, staff, None).await
}

/// Whose a sealed secret is: it opens for nobody else.
pub fn owner_of(staff: StaffId) -> Vec<u8> {
    format!("second factor {staff}").into_bytes()
}
