//! The search box: horses, clients and yards by any part of what people know of them.
//!
//! [`index`] keeps one line of words a row, [`query`] turns what was typed into literals, [`find`] brings both
//! together and says of each hit why it is one.

mod find;
pub mod index;
mod pages;
mod query;

pub use find::find;
pub use index::{rebuild, refresh_client, refresh_horse, refresh_yard};

pub use pages::SearchBox;

use axum::{Router, routing::get};

use crate::App;

pub fn router() -> Router<App> {
    Router::new().route("/search", get(pages::page))
}

/// What can be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Kind {
    Horse,
    Client,
    Yard,
}

impl Kind {
    pub const ALL: [Kind; 3] = [Kind::Horse, Kind::Client, Kind::Yard];

    pub fn from_key(key: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.key() == key)
    }

    pub fn key(self) -> &'static str {
        match self {
            Kind::Horse => "horse",
            Kind::Client => "client",
            Kind::Yard => "yard",
        }
    }
}

/// One result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    pub kind: Kind,
    /// The row's id as it stands in links and forms.
    pub id: String,
    pub title: String,
    /// What tells it from others of the same name.
    pub line: String,
    /// Which of its words were meant, such as `phone 0555 0142`; empty when it is the name.
    pub why: String,
    /// False for a horse that was sold or is dead.
    pub seen: bool,
}

impl Hit {
    pub fn href(&self) -> String {
        format!("/{}s/{}", self.kind.key(), self.id)
    }
}
