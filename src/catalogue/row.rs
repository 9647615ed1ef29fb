//! What every row of the catalogue has: a code that never changes, a source, and how sure we are of it.

use std::{collections::HashMap, fmt, ops::Deref};

use serde::{Deserialize, Serialize};

use super::CatalogueError;

/// How a fact was come by, as one tag or several joined by `/`: `V` read in the source, `V2` read in a
/// secondary account, `M` common practice or memory, `E` a working rule of this program.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Confidence(String);

impl TryFrom<String> for Confidence {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        if text.split('/').all(|tag| matches!(tag, "V" | "V2" | "M" | "E")) {
            Ok(Self(text))
        } else {
            Err(format!("confidence `{text}` is none of V, V2, M, E"))
        }
    }
}

impl From<Confidence> for String {
    fn from(confidence: Confidence) -> Self {
        confidence.0
    }
}

impl Confidence {
    /// A working rule of this program.
    pub(super) fn working() -> Self {
        Self("E".to_owned())
    }
}

impl Confidence {
    /// In words, strongest first: "published, partly from memory".
    pub fn words(&self) -> String {
        let tag = |tag: &str| match tag {
            "V" => "published",
            "V2" => "from a secondary account",
            "M" => "common practice or memory",
            _ => "working rule",
        };
        self.0.split('/').map(tag).collect::<Vec<_>>().join(", partly ")
    }
}

impl fmt::Display for Confidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One row of a data file.
pub trait Row: Send + Sync {
    fn code(&self) -> &str;
    fn source(&self) -> &str;
    fn confidence(&self) -> &Confidence;
}

/// Rows spell `code`, `source` and `confidence` themselves, so that an unknown member is refused by name
/// (serde cannot do that through a flattened part).
macro_rules! rows {
    ($($kind:ty),+ $(,)?) => {$(
        impl $crate::catalogue::Row for $kind {
            fn code(&self) -> &str {
                &self.code
            }
            fn source(&self) -> &str {
                &self.source
            }
            fn confidence(&self) -> &$crate::catalogue::Confidence {
                &self.confidence
            }
        }
    )+};
}
pub(super) use rows;

/// The rows of one kind, in the order of their file, and found by code.
#[derive(Clone, Debug)]
pub struct Table<T> {
    rows: Vec<T>,
    places: HashMap<String, usize>,
}

impl<T> Default for Table<T> {
    fn default() -> Self {
        Self { rows: Vec::new(), places: HashMap::new() }
    }
}

impl<T: Row> Table<T> {
    /// Refuses a code that stands twice, an empty code and a row without a source.
    pub(super) fn new(file: &'static str, rows: Vec<T>) -> Result<Self, CatalogueError> {
        let mut places = HashMap::with_capacity(rows.len());
        for (place, row) in rows.iter().enumerate() {
            let refused = |what: &str| CatalogueError::row(file, row.code(), what);
            if row.code().trim().is_empty() {
                return Err(refused("has no code"));
            }
            if row.source().trim().is_empty() {
                return Err(refused("has no source"));
            }
            if places.insert(row.code().to_owned(), place).is_some() {
                return Err(refused("stands twice"));
            }
        }
        Ok(Self { rows, places })
    }

    pub fn get(&self, code: &str) -> Option<&T> {
        self.places.get(code).and_then(|&place| self.rows.get(place))
    }

    /// The rows, to be given other numbers; their codes stay.
    pub(super) fn rows_mut(&mut self) -> &mut [T] {
        &mut self.rows
    }
}

impl<T> Deref for Table<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.rows
    }
}

impl<'a, T> IntoIterator for &'a Table<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.rows.iter()
    }
}
