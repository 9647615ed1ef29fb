//! The numbers of the reasoning with the practice's own in place of some: the pages that show and change them, and the
//! set that every reckoning is done with.

mod change;
mod groups;
mod pages;
mod store;

use std::sync::Arc;

use axum::{
    Router,
    routing::{get, post},
};
use sqlx::SqlitePool;
use tokio::sync::RwLock;

use crate::{
    App,
    catalogue::{
        catalogue,
        localise::{Address, Localising},
    },
    clock::At,
};
use store::Set;

pub(super) fn router() -> Router<App> {
    Router::new()
        .route("/practice/weights", get(pages::show).post(change::set))
        .route("/practice/weights/shipped", post(change::back))
}

/// The page of one number.
pub fn href(at: &Address) -> String {
    let at = at.to_string().replace('+', "%2B").replace(' ', "%20");
    format!("/practice/weights?weight={at}")
}

/// The numbers as the practice has them, put together when they are first asked for after a change.
#[derive(Debug, Default)]
pub struct Weighing {
    rows: RwLock<Option<Arc<Localising>>>,
}

impl Weighing {
    /// As they stand now; for a visit that was signed, as they stood then.
    pub async fn rows(&self, db: &SqlitePool, signed_at: Option<At>) -> sqlx::Result<Arc<Localising>> {
        if signed_at.is_some() {
            return Ok(together(&store::standing(db, signed_at).await?).0);
        }
        if let Some(rows) = &*self.rows.read().await {
            return Ok(rows.clone());
        }
        let mut held = self.rows.write().await;
        let (rows, _) = together(&store::standing(db, None).await?);
        *held = Some(rows.clone());
        Ok(rows)
    }

    async fn forget(&self) {
        *self.rows.write().await = None;
    }
}

/// The shipped numbers with these in their place, and which of these cannot be used, with a sentence that says why.
fn together(set: &[Set]) -> (Arc<Localising>, Vec<(Address, String)>) {
    let own: Vec<(Address, f64)> = set.iter().filter_map(|set| Some((set.address()?, set.value?))).collect();
    if own.is_empty() {
        return (catalogue().localise.clone(), Vec::new());
    }
    let (rows, refused) = catalogue().localise.with(&own);
    (Arc::new(rows), refused)
}
