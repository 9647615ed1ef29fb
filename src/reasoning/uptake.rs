//! Regions of interest of a bone scan. The choice of reference is no standard, so ratios compare within one protocol
//! only.

use super::refused::{Refused, not_negative, positive};

/// Counts a pixel, less a background of counts a pixel (0 for none).
pub fn density(counts: f64, pixels: f64, background: f64) -> Result<f64, Refused> {
    let density = not_negative("counts", counts)? / positive("pixels", pixels)?;
    let background = not_negative("background", background)?;
    if background <= density {
        Ok(density - background)
    } else {
        Err(Refused::new("background", "is more than the counts of the region"))
    }
}

/// Density of the target over that of the reference: bone over soft tissue, lame over sound.
pub fn ratio(target: f64, reference: f64) -> Result<f64, Refused> {
    Ok(not_negative("target", target)? / positive("reference", reference)?)
}

/// How much more the left takes up than the right, in percent of their mean.
pub fn asymmetry_pct(left: f64, right: f64) -> Result<f64, Refused> {
    let sum = not_negative("left", left)? + not_negative("right", right)?;
    Ok(200.0 * (left - right) / positive("left and right together", sum)?)
}
