//! Choosing a client by typing a part of the name or number, without script: what was typed is looked up, one
//! match is taken, several are offered as buttons.

use crate::{
    App,
    ids::ClientId,
    search::{self, Hit, Kind},
    web::{Check, Result},
};

/// So many are offered; more are told apart by typing more.
const OFFERED: usize = 7;

/// What was typed and chosen, and who may be meant.
#[derive(Debug, Clone, Default)]
pub struct Pick {
    typed: String,
    pub chosen: String,
    hits: Vec<Hit>,
}

impl Pick {
    pub async fn read(app: &App, typed: &str, chosen: &str) -> Result<Pick> {
        let typed = typed.trim().to_owned();
        let hits = search::find(&app.db, &typed, &[Kind::Client], OFFERED).await?;
        Ok(Pick { typed, chosen: chosen.to_owned(), hits })
    }

    /// The buttons to choose from: none when one was meant.
    pub fn offers(&self) -> Vec<(String, String)> {
        if self.meant().is_some() && self.chosen.is_empty() {
            return Vec::new();
        }
        self.hits.iter().map(|hit| (hit.id.clone(), format!("{} {}", hit.title, hit.line))).collect()
    }

    /// The client, when there is no doubt who is meant.
    fn meant(&self) -> Option<&Hit> {
        if let Some(hit) = self.hits.iter().find(|hit| hit.id == self.chosen) {
            return Some(hit);
        }
        match self.hits.as_slice() {
            [one] => Some(one),
            hits => {
                let mut same =
                    hits.iter().filter(|hit| hit.title.to_lowercase() == self.typed.to_lowercase());
                same.next().filter(|_| same.next().is_none())
            }
        }
    }

    pub fn name(&self) -> &str {
        self.meant().map_or("", |hit| hit.title.as_str())
    }

    /// The client who is meant; nobody typed is nobody.
    pub fn maybe(&self, check: &mut Check, field: &str) -> Option<ClientId> {
        if self.typed.is_empty() { None } else { self.needed(check, field) }
    }

    /// The client who is meant, or an error that says how to go on.
    pub fn needed(&self, check: &mut Check, field: &str) -> Option<ClientId> {
        if let Some(hit) = self.meant() {
            return hit.id.parse().ok();
        }
        let words = if self.typed.is_empty() {
            "Enter a part of the client's name or phone number."
        } else if self.hits.is_empty() {
            "No client has this in the name or number. Type less of it, or enter a new client first."
        } else {
            "Several clients have this: choose one below."
        };
        check.errors.add(field, words);
        None
    }
}
