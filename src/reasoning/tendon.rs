//! Ultrasound of a tendon: areas of the tendon and of its lesion by zone, and what follows from them.
//!
//! Tracing differs much between hands, and a diffuse lesion may not be measurable: a zone that was not measured is
//! left out. Areas are in mm2, lengths in mm.

use std::f64::consts::PI;

use super::refused::{Refused, not_negative, positive};
use crate::catalogue::{
    catalogue,
    diagnostics::{Zone, figures::SeverityClass},
};

/// What was traced in one zone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Traced<'a> {
    pub zone: &'a str,
    pub total_mm2: f64,
    /// 0 for none.
    pub lesion_mm2: f64,
}

/// What follows from all the zones scanned.
#[derive(Clone, Debug, PartialEq)]
pub struct Severity {
    /// The lesion's share of the tendon in each zone, as the zones came.
    pub lesion_pct: Vec<f64>,
    /// Of all lesion areas in all tendon areas.
    pub total_pct: f64,
    /// The code of a row of `tendon.toml`.
    pub class: &'static str,
    /// The zone of the largest share, the first of several; none without a lesion.
    pub worst: Option<usize>,
}

/// Weighs the zones, proximal to distal. Refused are unknown zones, zones out of order, an empty tendon, and a lesion
/// larger than its tendon.
pub fn severity(zones: &[Traced]) -> Result<Severity, Refused> {
    if zones.is_empty() {
        return Err(Refused::new("zones", "is empty"));
    }
    let mut lesion_pct = Vec::with_capacity(zones.len());
    for (place, traced) in zones.iter().enumerate() {
        let name = |member: &str| format!("zones[{place}].{member}");
        let total = positive(&name("total_mm2"), traced.total_mm2)?;
        let lesion = not_negative(&name("lesion_mm2"), traced.lesion_mm2)?;
        if lesion > total {
            return Err(Refused::new(
                name("lesion_mm2"),
                "is more than total_mm2: a lesion lies in its tendon",
            ));
        }
        lesion_pct.push(100.0 * lesion / total);
    }
    in_order(zones)?;
    let total_pct = share(zones)?;
    let worst = (0..zones.len()).rev().max_by(|a, b| lesion_pct[*a].total_cmp(&lesion_pct[*b]));
    Ok(Severity {
        worst: worst.filter(|place| lesion_pct[*place] > 0.0),
        class: class(total_pct).map_or("", |row| &row.code),
        lesion_pct,
        total_pct,
    })
}

/// The share of the sums, which stays finite where the areas are.
fn share(zones: &[Traced]) -> Result<f64, Refused> {
    let total: f64 = zones.iter().map(|traced| traced.total_mm2).sum();
    let lesion: f64 = zones.iter().map(|traced| traced.lesion_mm2).sum();
    Ok(100.0 * not_negative("sum of lesion_mm2", lesion)? / positive("sum of total_mm2", total)?)
}

/// The class of a share of the tendon.
fn class(total_pct: f64) -> Option<&'static SeverityClass> {
    let rows = &catalogue().diagnostics.figures.severities;
    rows.iter().find(|row| total_pct <= row.at_most_pct).or(rows.last())
}

/// Zones are known, and come as they lie; a length can be reckoned from them only so.
fn in_order(zones: &[Traced]) -> Result<(), Refused> {
    for (place, traced) in zones.iter().enumerate() {
        let name = format!("zones[{place}].zone");
        let all = &catalogue().diagnostics.zones;
        if all.get(traced.zone).is_none() {
            return Err(Refused::new(
                name,
                format!("`{}` is no zone: use 1A to 4C, P1A to P2B or P I to P III", traced.zone),
            ));
        }
        // Codes sort as the zones lie.
        let before = place.checked_sub(1).map(|before| zones[before].zone);
        match before {
            Some(before) if before == traced.zone => {
                return Err(Refused::new(name, format!("`{before}` stands twice")));
            }
            Some(before) if before > traced.zone => {
                return Err(Refused::new(
                    name,
                    format!("`{}` lies above `{before}`: proximal zones come first", traced.zone),
                ));
            }
            _ => {}
        }
    }
    Ok(())
}

/// The lesion's volume in mm3 between the first and the last zone, with straight sides from zone to zone.
pub fn lesion_volume_mm3(lesion_mm2: &[f64], spacing_mm: f64) -> Result<f64, Refused> {
    let spacing = positive("spacing_mm", spacing_mm)?;
    for area in lesion_mm2 {
        not_negative("lesion_mm2", *area)?;
    }
    let between: f64 = lesion_mm2.windows(2).map(|pair| f64::midpoint(pair[0], pair[1]) * spacing).sum();
    not_negative("lesion volume", between)
}

/// The zone of the fore cannon at a distance from the distal border of the accessory carpal bone, in a horse in which
/// the annular ligament begins at `length_cm`: six equal zones, and the last one below.
pub fn zone_at(distance_cm: f64, length_cm: f64) -> Result<&'static Zone, Refused> {
    let distance = not_negative("distance_cm", distance_cm)?;
    let length = positive("length_cm", length_cm)?;
    let zones: &[Zone] = &catalogue().diagnostics.zones.fore;
    let above = counted(zones.len()) - 1.0;
    let is_beyond = |place: &usize| distance >= length * counted(*place) / above;
    let place = (1..zones.len()).take_while(is_beyond).count();
    zones.get(place).ok_or_else(|| Refused::new("distance_cm", "is in no zone"))
}

/// Change of a zone since the last examination, in percent.
pub fn csa_change_pct(now_mm2: f64, before_mm2: f64) -> Result<f64, Refused> {
    compared("now_mm2", now_mm2, "before_mm2", before_mm2)
}

/// How much larger than the same zone of the other limb, in percent.
pub fn asymmetry_pct(injured_mm2: f64, other_mm2: f64) -> Result<f64, Refused> {
    compared("injured_mm2", injured_mm2, "other_mm2", other_mm2)
}

fn compared(name: &str, area: f64, base_name: &str, base: f64) -> Result<f64, Refused> {
    let (area, base) = (positive(name, area)?, positive(base_name, base)?);
    Ok(100.0 * (area - base) / base)
}

/// The area inside a traced outline, corner by corner, in mm2.
pub fn polygon_area_mm2(corners: &[[f64; 2]]) -> Result<f64, Refused> {
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners.iter().zip(next).map(|(one, two)| one[0] * two[1] - two[0] * one[1]).sum();
    let area = twice.abs() / 2.0;
    if corners.len() > 2 && area > 0.0 && area.is_finite() {
        Ok(area)
    } else {
        Err(Refused::new("corners", "enclose no area"))
    }
}

/// Whether a traced outline crosses or touches itself away from its corners: its area would be of nothing then.
pub fn crosses_itself(corners: &[[f64; 2]]) -> bool {
    let many = corners.len();
    let side = |at: usize| (corners[at], corners[(at + 1) % many]);
    (0..many).any(|one| {
        // Neighbours share a corner, and the last side is the first one's neighbour.
        let mut others = one + 2..many - usize::from(one == 0 && many > 0);
        others.any(|other| meet(side(one), side(other)))
    })
}

type Corner = [f64; 2];

/// Whether two straight lines have a point in common.
fn meet((a, b): (Corner, Corner), (c, d): (Corner, Corner)) -> bool {
    let turn =
        |p: Corner, q: Corner, r: Corner| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    let (to_c, to_d, to_a, to_b) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    if [to_c, to_d, to_a, to_b].iter().all(|turn| turn.abs() <= f64::EPSILON) {
        // On one line: they meet where their reaches do.
        return (0..2).all(|axis| {
            let (low, high) = (c[axis].min(d[axis]), c[axis].max(d[axis]));
            a[axis].max(b[axis]) >= low && a[axis].min(b[axis]) <= high
        });
    }
    to_c * to_d <= 0.0 && to_a * to_b <= 0.0
}

/// The area of an ellipse by its two diameters, in mm2.
pub fn ellipse_area_mm2(long_mm: f64, short_mm: f64) -> Result<f64, Refused> {
    Ok(PI * positive("long_mm", long_mm)? * positive("short_mm", short_mm)? / 4.0)
}

/// Sum and mean of scores of one scale over the zones; scores of different scales are never added.
pub fn scores(of_zones: &[f64]) -> Result<(f64, f64), Refused> {
    for score in of_zones {
        not_negative("score", *score)?;
    }
    if of_zones.is_empty() {
        return Err(Refused::new("score", "was given for no zone"));
    }
    let sum: f64 = of_zones.iter().sum();
    Ok((sum, sum / counted(of_zones.len())))
}

/// A number of zones, for reckoning with.
fn counted(zones: usize) -> f64 {
    f64::from(u32::try_from(zones).unwrap_or(u32::MAX))
}
