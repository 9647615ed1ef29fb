//! The practice itself: its name, zone and units, and its first-run page.

pub mod store;

use jiff::tz::TimeZone;

/// How the practice works and shows things.
#[derive(Debug, Clone)]
pub struct Practice {
    pub name: String,
    pub zone: TimeZone,
    pub zone_name: String,
    pub weight_unit: String,
    pub height_unit: String,
    pub temperature_unit: String,
    pub lameness_scale: String,
    pub exam_order: String,
    /// Made by the demonstration: every page says so.
    pub invented: bool,
    pub version: i64,
}
