//! The search box on other pages, and the page of results that it leads to.

use askama::Template;
use askama_web::WebTemplate;
use axum::extract::State;
use serde::Deserialize;

use super::{Hit, Kind, find};
use crate::{
    App,
    accounts::{Can, act},
    web::{Query, Result, Shell},
};

/// More would have to be read through: another letter is quicker.
const SHOWN: usize = 10;

/// A search box and, on the page of results, what it found.
#[derive(Debug, Clone, Default)]
pub struct SearchBox {
    pub q: String,
    /// The one kind of row that is looked for; empty for all.
    pub kind: String,
    /// The id of the list of results: the small box at the head of a page has a list of its own.
    pub list: &'static str,
    pub hits: Vec<Hit>,
}

impl SearchBox {
    /// An empty box that looks for one kind of row.
    pub fn of(kind: &str) -> Self {
        SearchBox { kind: kind.to_owned(), list: "results", ..SearchBox::default() }
    }

    pub fn label(&self) -> &'static str {
        match self.kind.as_str() {
            "horse" => "Find a horse",
            "client" => "Find a client",
            "yard" => "Find a yard",
            _ => "Find a horse, client or yard",
        }
    }

    /// Whether there may be more than are shown.
    pub fn is_full(&self) -> bool {
        self.hits.len() >= SHOWN
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct SearchQuery {
    q: String,
    kind: String,
    list: String,
}

#[derive(Template, WebTemplate)]
#[template(path = "search/page.html")]
pub(super) struct SearchPage {
    shell: Shell,
    search: SearchBox,
}

pub(super) async fn page(
    State(app): State<App>,
    shell: Shell,
    _: Can<act::SeeClients>,
    Query(query): Query<SearchQuery>,
) -> Result<SearchPage> {
    let one = Kind::from_key(&query.kind);
    let kinds = one.map_or_else(|| Kind::ALL.to_vec(), |kind| vec![kind]);
    let hits = find(&app.db, &query.q, &kinds, SHOWN).await?;
    let list = if query.list == "found" { "found" } else { "results" };
    let kind = one.map_or("", Kind::key).to_owned();
    Ok(SearchPage { shell, search: SearchBox { q: query.q, kind, list, hits } })
}
