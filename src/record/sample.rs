//! What an entry says of a sample: how it was taken and kept, where it went, and what was measured in it.

use serde::{Deserialize, Serialize};

use crate::clock::At;

/// How a sample was taken and kept. What nobody said is absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Sample {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub method: Option<String>,
    /// When it was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
    /// Fixative or tube.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub into: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub into_at: Option<At>,
}

/// Samples on their way. Days are kept as `YYYY-MM-DD`.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Parcel {
    pub sent_on: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub courier: Option<String>,
    /// As it was called on that day.
    pub laboratory: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub received_on: Option<String>,
}

/// The blood that an enzyme was measured in, and the laboratory's own range, in the unit of the number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drawn {
    pub at: At,
    /// `rest`, `before` or `after` an exercise test.
    pub when: String,
    pub laboratory: String,
    pub unit: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
}
