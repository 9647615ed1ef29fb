//! What the counts of a region say, beside the horse's own earlier ones.

use jiff::tz::TimeZone;

use super::{
    injection::reference,
    scene::{Scene, Told},
};
use crate::{
    catalogue::catalogue,
    papers::scan::{figure, grade, hours},
    reasoning::{
        Refused,
        uptake::{self, Areas, Uptake},
    },
    record::scan::{Area, Region},
};

/// What the counts say, reckoned to the earliest picture.
pub(super) fn reckon(one: &Region) -> Result<Uptake, Refused> {
    let drawn = [one.left, one.right, one.reference, one.soft];
    let first = drawn.iter().flatten().filter_map(|area| area.at).min();
    let area = |area: Option<Area>| {
        area.map(|area| uptake::Area {
            counts: area.counts,
            pixels: area.pixels,
            at_h: first.zip(area.at).map_or(0.0, |(first, at)| hours(first, at)),
        })
    };
    let areas = Areas {
        left: area(one.left),
        right: area(one.right),
        reference: area(one.reference),
        soft: area(one.soft),
        background: one.background.unwrap_or_default(),
    };
    areas.reckon(one.half_life_h)
}

/// A region with its figures, for the page.
pub(super) struct Figures<'a> {
    pub told: &'a Told<Region>,
    /// What it is called and what it comes to.
    pub lines: Vec<(&'static str, String)>,
    /// The horse's earlier ones of the same region and protocol, the newest first.
    pub trend: Vec<String>,
    /// Earlier ones of the region by other protocols, which are not compared.
    pub others: usize,
}

/// The regions of this order, each beside the horse's earlier ones.
pub(super) fn figures(scene: &Scene) -> Vec<Figures<'_>> {
    let own = scene.regions.iter().filter(|told| told.order == scene.order.id);
    own.map(|told| {
        let before = |other: &&Told<Region>| other.entry != told.entry && other.at < told.at;
        let earlier = scene.regions.iter().filter(before);
        let of_region: Vec<_> = earlier.filter(|other| same(&other.of.name, &told.of.name)).collect();
        let (alike, others): (Vec<&Told<Region>>, Vec<_>) =
            of_region.into_iter().partition(|other| same(&other.of.protocol, &told.of.protocol));
        Figures {
            told,
            lines: lines(&told.of),
            trend: alike.iter().rev().map(|other| earlier_words(other, &scene.zone)).collect(),
            others: others.len(),
        }
    })
    .collect()
}

fn same(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

fn lines(one: &Region) -> Vec<(&'static str, String)> {
    let Ok(found) = reckon(one) else { return Vec::new() };
    let density = |n: Option<f64>| n.map(|n| figure(n, 2));
    let mut lines = vec![
        (
            "Counts a pixel",
            sides(&[
                ("left", density(found.left)),
                ("right", density(found.right)),
                ("reference", density(found.reference)),
                ("soft tissue", density(found.soft)),
            ]),
        ),
        ("Ratio to the reference", ratios(&found)),
        ("Asymmetry", found.asymmetry_pct.map(asymmetry).unwrap_or_default()),
        (
            "Bone to soft tissue",
            sides(&[("left", density(found.bone_soft_left)), ("right", density(found.bone_soft_right))]),
        ),
        ("Uptake by eye", sides(&[("left", one.seen_left.map(grade)), ("right", one.seen_right.map(grade))])),
    ];
    lines.retain(|(_, words)| !words.is_empty());
    lines
}

fn ratios(found: &Uptake) -> String {
    let ratio = |n: Option<f64>| n.map(|n| figure(n, 2));
    sides(&[("left", ratio(found.ratio_left)), ("right", ratio(found.ratio_right))])
}

/// "+20 %, more on the left"
fn asymmetry(pct: f64) -> String {
    let more = match pct {
        pct if pct > 0.0 => ", more on the left",
        pct if pct < 0.0 => ", more on the right",
        _ => "",
    };
    format!("{} %{more}", figure(pct, 1))
}

fn sides(all: &[(&str, Option<String>)]) -> String {
    let said = all.iter().filter_map(|(side, words)| Some(format!("{side} {}", words.as_ref()?)));
    said.collect::<Vec<_>>().join(", ")
}

/// "12 Mar 2025: ratio left 1.5, right 1; asymmetry 3 %"
fn earlier_words(told: &Told<Region>, zone: &TimeZone) -> String {
    let found = reckon(&told.of).unwrap_or_default();
    let asymmetry = found.asymmetry_pct.map(|pct| format!("asymmetry {}", asymmetry(pct)));
    let ratios = Some(ratios(&found)).filter(|words| !words.is_empty()).map(|words| format!("ratio {words}"));
    let eye = sides(&[("left", told.of.seen_left.map(grade)), ("right", told.of.seen_right.map(grade))]);
    let eye = Some(eye).filter(|words| !words.is_empty()).map(|words| format!("by eye {words}"));
    let said: Vec<String> = [ratios, asymmetry, eye].into_iter().flatten().collect();
    format!("{}: {}", told.at.day(zone).words(), said.join("; "))
}

/// What the page says of ratios in print.
pub(super) fn references() -> Vec<String> {
    let rows = catalogue().diagnostics.figures.references_of("navicular_p3_density_ratio");
    rows.map(reference).collect()
}

/// Names that were used before, so that the same region is written the same way.
pub(super) fn known(scene: &Scene, name: impl Fn(&Region) -> &String) -> Vec<String> {
    let mut names: Vec<String> = scene.regions.iter().map(|told| name(&told.of).clone()).collect();
    names.sort_unstable();
    names.dedup();
    names
}
