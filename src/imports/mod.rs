//! Coming from somewhere else: a table of clients and horses, gone through before anything of it is entered.
//!
//! [`read`] makes a table of a file, [`columns`] says what each column is, [`draft`] what a row means, [`alike`] who it
//! may be. [`plan`] puts the rows together, [`run`] enters them in one transaction, [`undo`] takes them back, and
//! [`report`] tells it row by row.

pub mod alike;
pub mod columns;
pub mod draft;
mod judge;
mod pages;
pub mod plan;
pub mod read;
mod report;
mod run;
mod steps;
pub mod store;
mod undo;
mod upload;

use axum::{
    Router,
    extract::DefaultBodyLimit,
    routing::{get, post},
};

pub use run::Runs;

use crate::App;

/// A form that is larger is not read to its end; one below says how large it is.
const LARGEST_FORM: usize = 256 * 1024 * 1024;

pub fn router() -> Router<App> {
    Router::new()
        .route("/practice/imports", get(pages::list).post(upload::send))
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .route("/practice/imports/{id}", get(pages::page))
        .route("/practice/imports/{id}/columns", post(steps::columns))
        .route("/practice/imports/{id}/decide", post(steps::decide))
        .route("/practice/imports/{id}/run", post(steps::run))
        .route("/practice/imports/{id}/undo", post(steps::undo))
        .route("/practice/imports/{id}/drop", post(steps::drop_it))
        .route("/practice/imports/{id}/report.csv", get(pages::report))
}

/// How far an import has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum State {
    /// It is to be said what its columns are.
    Columns,
    /// Its rows are to be looked at and decided on.
    Preview,
    Running,
    Done,
    Undone,
}

impl State {
    pub fn words(self) -> &'static str {
        match self {
            State::Columns => "columns to be named",
            State::Preview => "to be looked at",
            State::Running => "being entered",
            State::Done => "entered",
            State::Undone => "taken back",
        }
    }
}
