//! Diagnostics: what was ordered for a visit, what of it was taken, what it shows, and whether the client knows.
//!
//! An order and its items are rows with a history of steps; what was found is entries of the record that name the
//! order. [`Stage`] and [`Gap`] are worked out from both, never stored.

mod before;
pub mod changes;
mod files;
mod form;
mod kind;
mod line;
mod order;
mod ordering;
mod page;
pub mod paper;
mod proposal;
mod purchase;
mod ready;
mod said;
pub mod sent;
mod sheet;
mod stage;
mod steps;
pub mod store;
mod visit;
mod waiting;
mod work;
mod worklist;

use axum::{
    Router,
    extract::DefaultBodyLimit,
    routing::{get, post},
};

use crate::App;

pub use form::usual;
pub use order::{Item, ItemState, Order, Step};
pub use stage::{Gap, Stage};
pub use waiting::{Waiting, waiting};

pub fn router() -> Router<App> {
    Router::new()
        .route("/diagnostics/{id}/files", post(files::send))
        // The file is held to its bound as it comes.
        .layer(DefaultBodyLimit::disable())
        .route("/diagnostics/{id}/files/{entry}", get(files::download))
        .route("/diagnostics", get(worklist::page))
        .route("/diagnostics/{id}", get(page::page))
        .route("/diagnostics/{id}/taken", post(steps::taken))
        .route("/diagnostics/{id}/ready", post(steps::ready))
        .route("/diagnostics/{id}/items/{item}", post(steps::item))
        .route("/diagnostics/{id}/details", post(steps::details))
        .route("/diagnostics/{id}/report", post(steps::report))
        .route("/diagnostics/{id}/shown", post(steps::shown))
        .route("/diagnostics/{id}/results/{entry}/withdraw", post(steps::withdraw))
        .route("/diagnostics/{id}/read", post(steps::read))
        .route("/diagnostics/{id}/told", post(steps::told))
        .route("/diagnostics/{id}/close", post(steps::close))
        .route("/diagnostics/{id}/open", post(steps::open_again))
        .route("/visits/{id}/diagnostics", get(visit::page).post(ordering::order))
        .route("/visits/{id}/diagnostics/new", get(ordering::new))
        .route("/visits/{id}/diagnostics/usual", post(ordering::usual))
        .route("/visits/{id}/diagnostics/sets", get(purchase::page).post(purchase::order))
}
