//! What the day page says of diagnostics: how much is outstanding, and where it is worked off.

use super::worklist;
use crate::{App, clock::Day, web::Result};

/// A group of the worklist with how much is in it.
pub struct Waiting {
    pub key: &'static str,
    /// "reports to read"
    pub words: &'static str,
    pub count: usize,
    /// The first few, in words: "Briar: fetlock, left fore".
    pub first: Vec<String>,
}

/// What waits today, the most pressing first; what is planned for later does not wait.
pub async fn waiting(app: &App, today: Day) -> Result<Vec<Waiting>> {
    const NAMED: usize = 3;
    let groups = worklist::grouped(worklist::outstanding(app, today).await?.into_iter(), today);
    let waits = groups.into_iter().filter(|group| group.key != worklist::LATER);
    Ok(waits
        .map(|group| Waiting {
            key: group.key,
            words: group.title,
            count: group.rows.len(),
            first: group
                .rows
                .iter()
                .take(NAMED)
                .map(|row| format!("{}: {}", row.named.horse, row.line.name()))
                .collect(),
        })
        .collect())
}
