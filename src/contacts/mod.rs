//! Every word with a client: calls, letters and texts, what they do not want, and what is to be told them. The program
//! sends nothing: it prepares the words, and a person sends them.

mod form;
mod late;
mod message;
mod pages;
pub mod store;
mod texts;
mod to_tell;
mod wishes;

use axum::{
    Router,
    routing::{get, post},
};

use crate::App;

pub fn router() -> Router<App> {
    Router::new()
        .route("/clients/{id}/contacts", get(pages::of_client).post(pages::note_client))
        .route("/clients/{id}/wishes", post(wishes::change))
        .route("/horses/{id}/contacts", get(pages::of_horse).post(pages::note_horse))
        .route("/visits/{id}/message", get(message::page).post(message::told))
        .route("/late", get(late::page))
        .route("/to-tell", get(to_tell::page))
        .route("/to-tell/{id}", post(to_tell::told))
        .route("/practice/messages", get(texts::page).post(texts::change))
}

/// How people are reached.
const CHANNELS: [(&str, &str); 5] = [
    ("phone", "telephone"),
    ("text", "text message"),
    ("email", "email"),
    ("letter", "letter"),
    ("in_person", "in person"),
];
/// Who went to whom.
const WAYS: [(&str, &str); 3] =
    [("in", "they came to us"), ("out", "we went to them"), ("tried", "nobody was reached")];

fn words<'a>(list: &[(&'static str, &'static str)], key: &'a str) -> &'a str {
    list.iter().find(|(known, _)| *known == key).map_or(key, |(_, words)| words)
}

fn is_known(list: &[(&str, &str)], key: &str) -> bool {
    list.iter().any(|(known, _)| *known == key)
}
