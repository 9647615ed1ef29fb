//! What an entry says of a horse's end: leave, method, how death was made sure of, and what is done with it after.

use serde::{Deserialize, Serialize};

use crate::clock::At;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Death {
    /// Why, in words.
    pub why: String,
    /// Who gave leave, and how; or why it could not be waited for.
    pub leave_by: String,
    pub leave_how: String,
    /// A code of `data/care.toml`.
    pub method: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub medicine: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    pub at: At,
    /// The signs that death was made sure of by, as names of the list.
    pub signs: Vec<String>,
    pub confirmed_by: String,
    pub remains: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub passport: Option<String>,
    /// Whether an insurer was told, in words.
    pub insurer: String,
}
