//! What an entry says of a bone scan: the injection, regions of its pictures, dose rates, spills, and the release.

use serde::{Deserialize, Serialize};

use crate::clock::{At, Day};

/// One thing that was done or measured. The entry's `code` is the name of the variant, so that the store can find it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Scan {
    Injection(Injection),
    Region(Region),
    Rate(Rate),
    Spill(Spill),
    Release(Release),
}

impl Scan {
    /// The entry's `code`.
    pub fn code(&self) -> &'static str {
        match self {
            Scan::Injection(_) => "injection",
            Scan::Region(_) => "region",
            Scan::Rate(_) => "rate",
            Scan::Spill(_) => "spill",
            Scan::Release(_) => "release",
        }
    }
}

/// What was injected. Activities are in megabecquerels, each with the time it was measured at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Injection {
    /// A row of the catalogue's half-lives, and the hours that it had on that day.
    pub nuclide: String,
    pub half_life_h: f64,
    pub agent: String,
    pub full_mbq: f64,
    pub full_at: At,
    pub left_mbq: f64,
    pub left_at: At,
    pub at: At,
    /// Where it went in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    /// Who injected, when it was not who entered it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Counts in an area of a picture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Area {
    pub counts: f64,
    pub pixels: f64,
    /// When the picture was taken; absent where all areas lie on one picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
}

/// One region of the pictures, both sides of it, as counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    pub name: String,
    /// How the regions were drawn: ratios compare within one protocol only.
    pub protocol: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<Area>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub right: Option<Area>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reference: Option<Area>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub soft: Option<Area>,
    /// Counts a pixel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub background: Option<f64>,
    /// Uptake by eye, 0 to 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_left: Option<u8>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_right: Option<u8>,
    /// Hours of the half-life that the pictures are corrected with.
    pub half_life_h: f64,
}

/// A meter, with the calibration that it had when it was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Meter {
    pub name: String,
    pub serial: String,
    pub calibrated_on: Day,
    pub calibration_due: Day,
}

/// A dose rate as it was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rate {
    pub at: At,
    pub meter: Meter,
    /// At 1 m from the horse; else at its surface.
    pub at_1_m: bool,
    /// Code of the place on the horse.
    pub point: String,
    pub usv_h: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub background_usv_h: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Something that was spilt, or bedding that is held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spill {
    pub at: At,
    pub place: String,
    pub done: String,
    /// Of bedding: until when it is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held_until: Option<At>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usv_h_after: Option<f64>,
}

/// That the horse may leave, with what the licence asked and what was measured. The entry's `about` is the highest of
/// the readings that it rests on; who signed is the entry's own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Release {
    pub at: At,
    pub licence: String,
    pub min_hours: f64,
    pub max_usv_h: f64,
    pub hours: f64,
    pub point: String,
    pub usv_h: f64,
    pub measured_at: At,
    pub meter: Meter,
}
