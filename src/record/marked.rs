//! What was marked on a picture, and what was reckoned from it.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// Marks are kept as they were set, in pixels of the picture: whoever doubts a measure can look at where it was taken.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Marked {
    /// Which frame of the picture, counted from 1.
    pub frame: u32,
    /// Points by name, x to the right and y down.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub points: BTreeMap<String, [f64; 2]>,
    /// Outlines by name, corner by corner.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub outlines: BTreeMap<String, Vec<[f64; 2]>>,
    /// Millimetres a pixel, across and down; absent when no length was reckoned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pixel_mm: Option<[f64; 2]>,
    /// How that is known, in words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<String>,
    /// Lengths are larger than life by what is not known.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub uncorrected: bool,
    /// What belongs to it, as it was typed: how the wall was marked, days since the trim, the zone, scores with their scale.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub with: BTreeMap<String, String>,
    /// What was reckoned, by keys that carry their unit.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub measures: BTreeMap<String, f64>,
}
