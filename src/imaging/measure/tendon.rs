//! A tendon or ligament in one zone: outlines on a transverse picture, their areas, and how the zone is scored.

use std::ops::RangeInclusive;

use super::{
    fields::{Fields, outline_field},
    scale,
    volume::ZONE_MM,
};
use crate::{
    catalogue::{
        Limb, catalogue,
        diagnostics::{Item, figures::ScoreScale},
    },
    imaging::picture::Facts,
    reasoning::tendon::{Traced, crosses_itself, polygon_area_mm2, severity},
    record::Marked,
    web::Check,
};

/// What is traced, with its words.
pub(super) const OUTLINES: [(&str, &str); 2] =
    [("tendon", "edge of the structure"), ("lesion", "edge of the lesion, where there is one")];
/// Circumstances that are kept with the numbers, besides the scores.
const WITH: [&str; 5] = ["zone", ZONE_MM, "scale", "marker_mm", "unmeasurable"];
/// Lengths that a zone of a horse may have, in mm: anything else is a slip of the finger.
const ZONES_MM: RangeInclusive<f64> = 10.0..=80.0;
const LONGEST_REASON: usize = 300;
/// A thousandth of a square millimetre or of a percent is kept.
const KEPT: f64 = 1000.0;

/// What can be traced on this limb: everything that is scanned in zones.
pub(super) fn structures(limb: Limb) -> impl Iterator<Item = &'static Item> {
    catalogue().diagnostics.items.iter().filter(move |item| !item.zones_on(limb).is_empty())
}

/// The zones that a structure is scanned in on this limb.
pub(super) fn zones(structure: &str, limb: Limb) -> &'static [String] {
    structures(limb).find(|item| item.code == structure).map_or(&[], |item| item.zones_on(limb))
}

/// The code of the structure; what does not fit is told of beside its field.
pub(super) fn check_where(fields: &Fields, limb: Limb, check: &mut Check) -> String {
    let zones = zones(fields.get("structure"), limb);
    if zones.is_empty() {
        check.errors.add("structure", "Choose the structure.");
    } else if !zones.iter().any(|zone| zone == fields.get("zone")) {
        check.errors.add("zone", format!("Choose the zone: {}.", zones.join(", ")));
    }
    fields.get("structure").to_owned()
}

/// What the area of a structure in a zone is called by the references; parts of one structure share a row.
pub(super) fn reference_key(structure: &str, zone: &str) -> String {
    let name = structure.strip_prefix("US_").unwrap_or(structure);
    let whole = name.split('_').next().unwrap_or(name);
    format!("csa_{whole}_{zone}_mm2")
}

pub(super) fn scores() -> impl Iterator<Item = &'static ScoreScale> {
    catalogue().diagnostics.figures.scores.iter()
}

/// The areas of what is traced so far, with the scores. What is wrong stands beside its field.
pub(super) fn reckon(fields: &Fields, facts: &Facts, check: &mut Check) -> Marked {
    let scales = scores().map(|scale| scale.code.as_str());
    let with: Vec<&str> = WITH.into_iter().chain(scales).collect();
    let mut marked = Marked { with: fields.picked(&with), ..Marked::default() };
    for scale in scores() {
        let step = fields.get(&scale.code);
        if !step.is_empty() && step.parse::<usize>().ok().is_none_or(|step| step >= scale.steps.len()) {
            check
                .errors
                .add(&scale.code, format!("Choose from 0 to {}.", scale.steps.len().saturating_sub(1)));
        }
    }
    check.number(ZONE_MM, fields.get(ZONE_MM), ZONES_MM, "mm");
    check.line("unmeasurable", fields.get("unmeasurable"), LONGEST_REASON);
    let scale = scale::read(fields, facts, check);
    for (name, _) in OUTLINES {
        let corners = fields.read_outline(name, (facts.columns, facts.rows), check);
        if corners.is_empty() {
            continue;
        }
        let area = scale.as_ref().and_then(|scale| area(name, &corners, scale.pixel_mm, check));
        if let Some(area) = area {
            let key = if name == "tendon" { "total_mm2" } else { "lesion_mm2" };
            marked.measures.insert(key.to_owned(), area);
        }
        marked.outlines.insert(name.to_owned(), corners);
    }
    share(&mut marked, check);
    scale::put_marker(fields, facts, &mut marked);
    if let Some(scale) = scale {
        scale.put(&mut marked);
    }
    marked
}

fn area(name: &str, corners: &[[f64; 2]], [across, down]: [f64; 2], check: &mut Check) -> Option<f64> {
    if corners.len() < 3 {
        return None;
    }
    if crosses_itself(corners) {
        let again = "This outline crosses itself: take corners back and go round once.";
        check.errors.add(&outline_field(name), again);
        return None;
    }
    let in_mm: Vec<[f64; 2]> = corners.iter().map(|[x, y]| [x * across, y * down]).collect();
    polygon_area_mm2(&in_mm).ok().map(|area| (area * KEPT).round() / KEPT)
}

/// The lesion's share of what it lies in; without a traced lesion it is nothing.
fn share(marked: &mut Marked, check: &mut Check) {
    let Some(total_mm2) = marked.measures.get("total_mm2").copied() else { return };
    let lesion_mm2 = marked.measures.get("lesion_mm2").copied().unwrap_or(0.0);
    // Of one zone alone it does not matter which it is.
    let zone = catalogue().diagnostics.zones.fore.first().map_or("", |zone| &zone.code);
    let Ok(found) = severity(&[Traced { zone, total_mm2, lesion_mm2 }]) else {
        let larger = "The lesion is larger than what it lies in: trace both again.";
        check.errors.add(&outline_field("lesion"), larger);
        return;
    };
    marked.measures.insert("lesion_mm2".into(), lesion_mm2);
    marked.measures.insert("lesion_pct".into(), (found.total_pct * KEPT).round() / KEPT);
}
