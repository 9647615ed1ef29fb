//! Regions of interest of a bone scan. The choice of reference is no standard, so ratios compare within one protocol
//! only.

use super::{
    decay::activity_before,
    refused::{Refused, not_negative, positive},
};

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

/// One area of a picture, with the hour it was taken at on any one clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    pub counts: f64,
    pub pixels: f64,
    pub at_h: f64,
}

/// The areas of one region: both sides, a reference, soft tissue; what was not drawn is absent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Areas {
    pub left: Option<Area>,
    pub right: Option<Area>,
    pub reference: Option<Area>,
    pub soft: Option<Area>,
    /// Counts a pixel that are taken off every area.
    pub background: f64,
}

/// What the areas say, all reckoned to the hour of the earliest picture.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Uptake {
    /// Counts a pixel.
    pub left: Option<f64>,
    pub right: Option<f64>,
    pub reference: Option<f64>,
    pub soft: Option<f64>,
    pub ratio_left: Option<f64>,
    pub ratio_right: Option<f64>,
    pub asymmetry_pct: Option<f64>,
    pub bone_soft_left: Option<f64>,
    pub bone_soft_right: Option<f64>,
}

impl Areas {
    /// Densities, and the ratios of those that are there.
    pub fn reckon(&self, half_life_h: f64) -> Result<Uptake, Refused> {
        let drawn = [self.left, self.right, self.reference, self.soft];
        let common = drawn.iter().flatten().map(|area| area.at_h).fold(f64::INFINITY, f64::min);
        let of = |area: Option<Area>| area.map(|area| self.at_hour(area, common, half_life_h)).transpose();
        let (left, right) = (of(self.left)?, of(self.right)?);
        let (reference, soft) = (of(self.reference)?, of(self.soft)?);
        let over = |side: Option<f64>, by: Option<f64>| side.zip(by).map(|(a, b)| ratio(a, b)).transpose();
        Ok(Uptake {
            left,
            right,
            reference,
            soft,
            ratio_left: over(left, reference)?,
            ratio_right: over(right, reference)?,
            asymmetry_pct: left.zip(right).map(|(l, r)| asymmetry_pct(l, r)).transpose()?,
            bone_soft_left: over(left, soft)?,
            bone_soft_right: over(right, soft)?,
        })
    }

    /// The density as it would have been at an earlier hour.
    fn at_hour(&self, area: Area, hour: f64, half_life_h: f64) -> Result<f64, Refused> {
        let then = density(area.counts, area.pixels, self.background)?;
        if then == 0.0 { Ok(0.0) } else { activity_before(then, half_life_h, area.at_h - hour) }
    }
}
