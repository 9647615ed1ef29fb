//! Measures on radiographs of a foot, from points that were marked on it.
//!
//! Millimetres after calibration, x towards the toe (in a dorsopalmar view towards lateral), y up. `G1` and `G2` lie on
//! the ground line; a picture that is level may do without them, for everything but depths: x is the ground's
//! direction then. Each measure is reckoned as soon as its points are there (`data/diagnostics/hoof.toml`).

pub mod calibrate;
mod frame;

use std::collections::BTreeMap;

use frame::Frame;

use super::refused::Refused;
use crate::catalogue::{Pair, catalogue};

/// Points by their names, each x and y in mm.
pub type Points = BTreeMap<String, [f64; 2]>;

/// Which picture the points are marked on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HoofView {
    /// From the side; of a hindlimb the angle of the sole has another name.
    Lateral(Pair),
    /// From in front: `DPa` or `DPl`.
    Front,
}

impl HoofView {
    fn name(self) -> &'static str {
        match self {
            Self::Lateral(_) => "LM",
            Self::Front => "DPa",
        }
    }
}

type Measured = Result<Option<f64>, Refused>;

/// Every measure that the points allow, by its key, which carries its unit (`hoof_pastern_axis` is in degrees, ratios
/// have none).
pub fn measures(view: HoofView, points: &Points) -> Result<BTreeMap<&'static str, f64>, Refused> {
    known(view, points)?;
    let frame = Frame::of(points)?;
    let rows = catalogue().diagnostics.figures.hoof_measures.iter();
    let mut found = BTreeMap::new();
    for row in rows.filter(|row| row.view == view.name()) {
        let key = row.code.as_str();
        if !row.points.iter().all(|point| points.contains_key(point)) {
            continue;
        }
        if let Some(number) = measure(key, view, &frame)? {
            if !number.is_finite() {
                return Err(Refused::new("points", format!("are too far apart to reckon {key} from")));
            }
            found.insert(key, number);
        }
    }
    if found.is_empty() {
        return Err(Refused::new(
            "points",
            "allow no measure: see --help for the points that each one needs",
        ));
    }
    Ok(found)
}

/// Refuses a point that is not one of this view, and a coordinate that is no number.
fn known(view: HoofView, points: &Points) -> Result<(), Refused> {
    let rows = &catalogue().diagnostics.figures.hoof_points;
    for (name, at) in points {
        let refused = |what: String| Err(Refused::new(format!("points.{name}"), what));
        let Some(row) = rows.get(name) else {
            let here = rows.iter().filter(|row| row.view == view.name() || row.view == "both");
            let names: Vec<&str> = here.map(|row| row.code.as_str()).collect();
            return refused(format!("is no point of a view {}: use {}", view.name(), names.join(", ")));
        };
        if row.view != "both" && row.view != view.name() {
            return refused(format!("is a point of the view {}, not {}", row.view, view.name()));
        }
        if !at.iter().all(|number| number.is_finite()) {
            return refused("is no place".to_owned());
        }
    }
    Ok(())
}

/// One measure by its key; none where it is another limb's or the ground is not known well enough.
fn measure(key: &str, view: HoofView, frame: &Frame) -> Measured {
    let hind = view == HoofView::Lateral(Pair::Hind);
    let some = |number: Result<f64, Refused>| number.map(Some);
    match key {
        "palmar_angle_deg" if !hind => some(frame.sole_angle()),
        "plantar_angle_deg" if hind => some(frame.sole_angle()),
        "dorsal_hoof_wall_angle_deg" => some(frame.dorsal_angle("W1", "W2")),
        "p3_dorsal_angle_deg" => some(frame.dorsal_angle("A1", "A2")),
        "capsular_rotation_deg" => some(frame.between(("A1", "A2"), ("W1", "W2"))),
        "phalangeal_rotation_deg" => some(frame.between(("A1", "A2"), ("S1", "S2"))),
        "hoof_pastern_axis" => some(frame.between(("W1", "W2"), ("F1", "F2"))),
        "sole_depth_mm" => some(frame.depth("T")),
        "sole_depth_wing_mm" => some(frame.depth("Q")),
        "founder_distance_mm" => some(Ok(frame.height("C") - frame.height("E"))),
        "hdpd_mm" => some(frame.wall_thickness()),
        "hdpd_ratio" => some(frame.wall_ratio()),
        "p3_tip_to_breakover_mm" => some(Ok(frame.along("B") - frame.along("T"))),
        "cor_dorsal_palmar_ratio" => some(frame.support_ratio()),
        "dip_joint_ml_tilt_deg" => some(frame.tilt("JM", "JL")),
        "p3_ml_balance_mm" => some(Ok(frame.height("PL") - frame.height("PM"))),
        _ => Ok(None),
    }
}
