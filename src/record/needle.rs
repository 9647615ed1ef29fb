//! What an entry says of a needle: how something was injected, and how the horse went after it.

use serde::{Deserialize, Serialize};

use crate::clock::At;

/// How a block or another drug was given. What nobody said is absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Given {
    /// Key of the agent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub agent: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mg_per_ml: Option<f64>,
    /// At each site.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub volume_ml: Option<f64>,
    /// How many places the needle went to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sites: Option<f64>,
    /// Where or how, when not as usual: `at_cartilage`, `proximal_2_3_cm`, `weight_bearing`, `flexed`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub site: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skin_numb: Option<bool>,
    /// The lameness was back, or never gone, before this block.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clean_baseline: Option<bool>,
    /// When it went in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<At>,
}

/// One look after a block. The entry's `code` is the condition, its `grade` on `scale` the lameness then.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct After {
    /// After injecting.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes: Option<f64>,
    /// The grade just before the block on the same condition, on the entry's scale.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub before: Option<f64>,
    /// As judged; absent where the grades alone say it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub improvement_pct: Option<f64>,
    /// The limb that the lameness moved to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub switched_to: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skin_numb: Option<bool>,
    /// The lameness from before the block is back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub baseline_back: Option<bool>,
}

impl After {
    /// Better by so many percent: as judged, else from the grade before to the one after.
    pub fn better_by(&self, after: Option<f64>) -> Option<f64> {
        self.improvement_pct.or_else(|| from_grades(self.before?, after?))
    }
}

/// What two grades of one scale say; nothing where there was no lameness to lose.
pub fn from_grades(before: f64, after: f64) -> Option<f64> {
    (before > 0.0).then(|| ((before - after) / before * 100.0).round())
}
