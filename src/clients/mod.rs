//! Clients: the people and organisations that horses belong to, and the yards where horses stand.

mod form;
mod pages;
mod pick;
pub mod store;
pub mod yards;

use std::str::FromStr;

use axum::{Router, routing::get};

pub use pick::Pick;

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/clients", get(pages::list).post(pages::create))
        .route("/clients/new", get(pages::new_page))
        .route("/clients/{id}", get(pages::page).post(pages::change))
        .route("/clients/{id}/edit", get(pages::edit_page))
        .merge(yards::router())
}

/// A person or an organisation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Kind {
    Person,
    Organisation,
}

impl Kind {
    pub fn key(self) -> &'static str {
        match self {
            Kind::Person => "person",
            Kind::Organisation => "organisation",
        }
    }
}

impl FromStr for Kind {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        [Kind::Person, Kind::Organisation].into_iter().find(|k| k.key() == text).ok_or(())
    }
}

/// A client as entered and edited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    pub kind: Kind,
    pub name: String,
    pub email: String,
    pub note: String,
    pub phones: Vec<Phone>,
    pub addresses: Vec<Address>,
}

impl Details {
    /// Somebody of whom a call gave a name and perhaps a number.
    pub fn caller(name: &str, phone: &str) -> Self {
        let phone = Phone { label: String::new(), number: phone.trim().to_owned() };
        Details {
            kind: Kind::Person,
            name: name.to_owned(),
            email: String::new(),
            note: String::new(),
            phones: if phone.number.is_empty() { Vec::new() } else { vec![phone] },
            addresses: Vec::new(),
        }
    }
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Phone {
    /// Such as `mobile` or `yard office`.
    pub label: String,
    pub number: String,
}

impl Phone {
    /// The digits alone: what any way of writing the number has in common.
    pub fn digits(&self) -> String {
        self.number.chars().filter(char::is_ascii_digit).collect()
    }

    /// For a `tel:` link.
    pub fn digits_to_dial(&self) -> String {
        let plus = if self.number.trim_start().starts_with('+') { "+" } else { "" };
        format!("{plus}{}", self.digits())
    }
}

#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Address {
    pub label: String,
    pub lines: String,
}
