//! Measures of a foot: from points on a radiograph to angles, lengths and ratios.

use std::collections::BTreeMap;

use super::{
    fields::{Fields, point_field},
    scale::{self, Scale},
};
use crate::{
    catalogue::{Limb, Pair, catalogue, diagnostics::figures::HoofPoint},
    imaging::picture::Facts,
    papers::measured::is_length,
    reasoning::hoof::{HoofView, Points, measures},
    record::Marked,
    web::Check,
};

pub(super) const VIEWS: [(&str, &str); 2] =
    [("LM", "from the side (LM)"), ("DPa", "from in front (DPa, DPl)")];
/// Circumstances that are kept with the numbers.
pub(super) const WITH: [&str; 8] =
    ["view", "scale", "marker_mm", "source_cm", "object_cm", "wall_mark", "days_since_trim", "superposed"];
/// The points that say where the ground is, and which way the toe points.
const GROUND: [&str; 2] = ["G1", "G2"];
/// A thousandth of a degree or a millimetre is kept.
const KEPT: f64 = 1000.0;
const MOST_DAYS: f64 = 400.0;

/// The points of a view, in the order in which they are marked.
pub(super) fn points(view: &str) -> Vec<&'static HoofPoint> {
    let rows = catalogue().diagnostics.figures.hoof_points.iter();
    rows.filter(|row| row.view == "both" || row.view == view).collect()
}

/// What the points that are marked so far give. What is wrong stands beside its field; what is only missing does not.
pub(super) fn reckon(fields: &Fields, limb: Option<Limb>, facts: &Facts, check: &mut Check) -> Marked {
    let view = fields.get("view");
    let mut marked = Marked { with: fields.picked(&WITH), ..Marked::default() };
    for row in points(view) {
        if let Some(at) = fields.read_point(&row.code, (facts.columns, facts.rows), check) {
            marked.points.insert(row.code.clone(), at);
        }
    }
    check.number("days_since_trim", fields.get("days_since_trim"), 0.0..=MOST_DAYS, "days");
    let scale = scale::read(fields, facts, check);
    let on_ground = GROUND.iter().all(|name| marked.points.contains_key(*name));
    if on_ground && marked.points.len() > GROUND.len() && check.errors.is_empty() {
        marked.measures = numbers(view, limb, &marked.points, scale.as_ref(), check);
    }
    scale::put_marker(fields, facts, &mut marked);
    if let Some(scale) = scale {
        scale.put(&mut marked);
    }
    marked
}

fn numbers(
    view: &str,
    limb: Option<Limb>,
    marks: &BTreeMap<String, [f64; 2]>,
    scale: Option<&Scale>,
    check: &mut Check,
) -> BTreeMap<String, f64> {
    let pair = if limb.is_none_or(Limb::is_fore) { Pair::Fore } else { Pair::Hind };
    let of = if view == "LM" { HoofView::Lateral(pair) } else { HoofView::Front };
    match measures(of, &on_horse(marks, scale.map_or([1.0, 1.0], |scale| scale.pixel_mm))) {
        Ok(found) => {
            let known = found.into_iter().filter(|(key, _)| scale.is_some() || !is_length(key));
            known.map(|(key, number)| (key.to_owned(), (number * KEPT).round() / KEPT)).collect()
        }
        // Points that make no measure yet are no mistake.
        Err(refused) if refused.name == "points" => BTreeMap::new(),
        Err(refused) => {
            let point = refused.name.trim_start_matches("points.");
            check.errors.add(&point_field(point), format!("{point} {}.", refused.what));
            BTreeMap::new()
        }
    }
}

/// Points as the reckoning takes them: in mm, up is up, and the toe (in front: lateral) lies at the greater x, wherever
/// the picture has it.
fn on_horse(marks: &BTreeMap<String, [f64; 2]>, [across, down]: [f64; 2]) -> Points {
    let x = |name: &str| marks.get(name).map_or(0.0, |at| at[0]);
    let across = if x(GROUND[1]) < x(GROUND[0]) { -across } else { across };
    marks.iter().map(|(name, [x, y])| (name.clone(), [x * across, -y * down])).collect()
}
