//! Activity of a bone scan: what is left after a time, what was given, and when a limit is reached.
//!
//! Physical decay alone: the horse also passes tracer, so for the whole body the result errs on the safe side. A
//! reckoned time is information for planning; only a measurement lets a horse go home.

use super::refused::{Refused, not_negative, positive};
use crate::catalogue::{catalogue, diagnostics::figures::HalfLife};

/// The nuclide that a bone scan is done with.
pub const USUAL_NUCLIDE: &str = "Tc-99m";

/// A half-life by nuclide (`Tc-99m`), or as another table has it (`Tc-99m/ICRP-107`).
pub fn half_life(nuclide: &str) -> Result<&'static HalfLife, Refused> {
    let rows = &catalogue().diagnostics.figures.half_lives;
    rows.get(nuclide).ok_or_else(|| {
        let known: Vec<&str> = rows.iter().map(|row| row.code.as_str()).collect();
        Refused::new("nuclide", format!("`{nuclide}` is not known: use one of {}", known.join(", ")))
    })
}

/// The share that is left after `hours`, 0 to 1: 2^(-t/T).
pub fn fraction_left(half_life_h: f64, hours: f64) -> Result<f64, Refused> {
    let half_life_h = positive("half_life_h", half_life_h)?;
    Ok((-not_negative("hours", hours)? / half_life_h).exp2())
}

/// The activity after `hours`, in the unit it was given in.
pub fn activity_after(activity_mbq: f64, half_life_h: f64, hours: f64) -> Result<f64, Refused> {
    Ok(positive("activity_mbq", activity_mbq)? * fraction_left(half_life_h, hours)?)
}

/// The activity `hours` before it was measured.
pub fn activity_before(activity_mbq: f64, half_life_h: f64, hours: f64) -> Result<f64, Refused> {
    let before = positive("activity_mbq", activity_mbq)? / fraction_left(half_life_h, hours)?;
    if before.is_finite() {
        Ok(before)
    } else {
        Err(Refused::new("hours", "is too long ago to reckon back to"))
    }
}

/// An activity and the hour it was measured at, on any one clock.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub activity_mbq: f64,
    pub at_h: f64,
}

impl Measured {
    /// The activity of this at another hour, earlier or later.
    fn at(self, hour: f64, half_life_h: f64) -> Result<f64, Refused> {
        let elapsed = hour - self.at_h;
        let activity = self.activity_mbq;
        if activity == 0.0 {
            return Ok(0.0);
        }
        if elapsed < 0.0 {
            activity_before(activity, half_life_h, -elapsed)
        } else {
            activity_after(activity, half_life_h, elapsed)
        }
    }
}

/// What the horse was given at an hour: the full syringe less what stayed in it, both reckoned to that hour.
pub fn administered(full: Measured, residue: Measured, hour: f64, half_life_h: f64) -> Result<f64, Refused> {
    positive("full.activity_mbq", full.activity_mbq)?;
    not_negative("residue.activity_mbq", residue.activity_mbq)?;
    let given = full.at(hour, half_life_h)? - residue.at(hour, half_life_h)?;
    if given > 0.0 {
        Ok(given)
    } else {
        Err(Refused::new("residue.activity_mbq", "is not less than the full syringe"))
    }
}

/// Physical and biological half-life together, in hours: 1/T = 1/Tp + 1/Tb.
pub fn effective_half_life(physical_h: f64, biological_h: f64) -> Result<f64, Refused> {
    let (physical, biological) =
        (positive("physical_h", physical_h)?, positive("biological_h", biological_h)?);
    Ok(physical * biological / (physical + biological))
}

/// Hours until a rate has fallen to a limit, in any one unit; 0 where it is there already. A projection, never a
/// release: a local reading can rise again.
pub fn hours_until(rate: f64, limit: f64, half_life_h: f64) -> Result<f64, Refused> {
    let ratio = not_negative("rate", rate)? / positive("limit", limit)?;
    let half_life_h = positive("half_life_h", half_life_h)?;
    Ok(if ratio > 1.0 { half_life_h * ratio.log2() } else { 0.0 })
}

/// Millicuries as megabecquerels.
pub fn mbq_of_mci(mci: f64) -> Result<f64, Refused> {
    Ok(not_negative("mci", mci)? * catalogue().diagnostics.figures.constant("mbq_per_mci"))
}

/// Milliroentgens an hour as microsieverts an hour, about.
pub fn usv_per_h_of_mr_per_h(mr_per_h: f64) -> Result<f64, Refused> {
    Ok(not_negative("mr_per_h", mr_per_h)? * catalogue().diagnostics.figures.constant("usv_per_mr"))
}
