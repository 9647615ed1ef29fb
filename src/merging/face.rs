//! A row as it is held beside another: its fields in words, and what hangs on it.

use std::collections::BTreeMap;

use uuid::Uuid;

/// A field of a row.
#[derive(Debug, Clone)]
pub(super) struct Field {
    pub key: &'static str,
    pub label: &'static str,
    pub value: String,
}

/// One of the two.
#[derive(Debug, Clone)]
pub(super) struct Face {
    pub id: Uuid,
    pub name: String,
    pub version: i64,
    pub fields: Vec<Field>,
    /// What both keep: phones, addresses, people.
    pub kept: Vec<(&'static str, String)>,
    /// How much hangs on it: `3 visits`.
    pub hangs: Vec<String>,
}

impl Face {
    /// What is remembered of the row.
    pub(super) fn json(&self) -> anyhow::Result<String> {
        let fields = self.fields.iter().map(|field| (field.key, field.value.as_str()));
        let all: BTreeMap<&str, &str> =
            fields.chain(self.kept.iter().map(|(label, value)| (*label, value.as_str()))).collect();
        Ok(serde_json::to_string(&all)?)
    }
}

/// A field on which the two differ, or not.
#[derive(Debug, Clone)]
pub(super) struct Pair {
    pub key: &'static str,
    pub label: &'static str,
    pub here: String,
    pub there: String,
    /// Whether the other one's is taken.
    pub there_stays: bool,
}

impl Pair {
    pub(super) fn differs(&self) -> bool {
        self.here.trim() != self.there.trim()
    }

    pub(super) fn name(&self) -> String {
        format!("take-{}", self.key)
    }

    pub(super) fn choices(&self) -> [(&'static str, &str); 2] {
        [("here", said(&self.here)), ("there", said(&self.there))]
    }

    pub(super) fn stays(&self) -> &'static str {
        if self.there_stays { "there" } else { "here" }
    }
}

fn said(text: &str) -> &str {
    if text.is_empty() { "nothing" } else { text }
}

/// The fields of both; what is empty here is proposed from there.
pub(super) fn pairs(here: &Face, there: &Face) -> Vec<Pair> {
    let with = |field: &Field| {
        let other = there.fields.iter().find(|other| other.key == field.key);
        let other = other.map_or_else(String::new, |other| other.value.clone());
        Pair {
            key: field.key,
            label: field.label,
            there_stays: field.value.trim().is_empty() && !other.trim().is_empty(),
            here: field.value.clone(),
            there: other,
        }
    };
    here.fields.iter().map(with).collect()
}
