//! The sections of the exam that are not places under the hands: vital signs, how it stands, how it moves,
//! flexion, nerves, and the cautions over all of them.

use axum::Router;

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
}
