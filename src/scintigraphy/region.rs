//! A region of the pictures as it is typed.

use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{figures::reckon, forms::LONGEST_LINE, scene::Scene, when};
use crate::{
    catalogue::catalogue,
    clock::At,
    reasoning::decay,
    record::scan::{Area, Region},
    web::{Check, shown},
};

const MOST_COUNTS: f64 = 1e9;
const MOST_PIXELS: f64 = 1e8;

/// Its fields, so that the page knows where something is wrong.
pub(super) const FIELDS: &[&str] = &[
    "part",
    "protocol",
    "left_counts",
    "left_pixels",
    "left_time",
    "right_counts",
    "right_pixels",
    "right_time",
    "ref_counts",
    "ref_pixels",
    "ref_time",
    "soft_counts",
    "soft_pixels",
    "soft_time",
    "background",
    "seen_left",
    "seen_right",
];

#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub(super) struct RegionForm {
    pub part: String,
    pub protocol: String,
    pub left_counts: String,
    pub left_pixels: String,
    pub left_time: String,
    pub right_counts: String,
    pub right_pixels: String,
    pub right_time: String,
    pub ref_counts: String,
    pub ref_pixels: String,
    pub ref_time: String,
    pub soft_counts: String,
    pub soft_pixels: String,
    pub soft_time: String,
    pub background: String,
    pub seen_left: String,
    pub seen_right: String,
}

/// Counts, pixels and time of one area: each the field, its label and what was typed in it.
type TypedArea<'a> = [(&'static str, &'static str, &'a str); 3];

/// An area for a page: its title and its three fields with what stands in them.
pub(super) type AreaFields<'a> = (&'static str, TypedArea<'a>);

impl RegionForm {
    pub(super) fn of(one: &Region, zone: &TimeZone) -> Self {
        let fields = |area: Option<Area>| {
            let time = area.and_then(|area| area.at).map(|at| at.hm(zone)).unwrap_or_default();
            (shown(area.map(|a| a.counts)), shown(area.map(|a| a.pixels)), time)
        };
        let (left_counts, left_pixels, left_time) = fields(one.left);
        let (right_counts, right_pixels, right_time) = fields(one.right);
        let (ref_counts, ref_pixels, ref_time) = fields(one.reference);
        let (soft_counts, soft_pixels, soft_time) = fields(one.soft);
        RegionForm {
            part: one.name.clone(),
            protocol: one.protocol.clone(),
            left_counts,
            left_pixels,
            left_time,
            right_counts,
            right_pixels,
            right_time,
            ref_counts,
            ref_pixels,
            ref_time,
            soft_counts,
            soft_pixels,
            soft_time,
            background: shown(one.background),
            seen_left: shown(one.seen_left),
            seen_right: shown(one.seen_right),
        }
    }

    /// Each area with its fields, their labels and what was typed.
    pub(super) fn areas(&self) -> [AreaFields<'_>; 4] {
        fn area<'a>(title: &'static str, names: [&'static str; 3], typed: [&'a str; 3]) -> AreaFields<'a> {
            let labels = ["Counts", "Pixels", "Picture taken at"];
            (title, [0, 1, 2].map(|at| (names[at], labels[at], typed[at])))
        }
        let left = [&*self.left_counts, &*self.left_pixels, &*self.left_time];
        let right = [&*self.right_counts, &*self.right_pixels, &*self.right_time];
        let reference = [&*self.ref_counts, &*self.ref_pixels, &*self.ref_time];
        let soft = [&*self.soft_counts, &*self.soft_pixels, &*self.soft_time];
        [
            area("Left", ["left_counts", "left_pixels", "left_time"], left),
            area("Right", ["right_counts", "right_pixels", "right_time"], right),
            area("Reference", ["ref_counts", "ref_pixels", "ref_time"], reference),
            area("Soft tissue", ["soft_counts", "soft_pixels", "soft_time"], soft),
        ]
    }

    pub(super) fn check(&self, check: &mut Check, scene: &Scene) -> Option<Region> {
        let name = check.needed("part", &self.part, LONGEST_LINE, "Say which region it is.");
        let missing =
            "Enter the protocol: how the regions are drawn, in a word or number of the practice's own.";
        let protocol = check.needed("protocol", &self.protocol, LONGEST_LINE, missing);
        let from = scene
            .injection()
            .map_or_else(|| scene.now.day(&scene.zone).start(&scene.zone), |(_, one)| one.at);
        let areas = self.areas().map(|(_, typed)| area(check, typed, (from, &scene.zone)));
        let seen = [("seen_left", &self.seen_left), ("seen_right", &self.seen_right)];
        let [seen_left, seen_right] = seen.map(|(field, typed)| seen_by_eye(check, field, typed));
        let background = check.number("background", &self.background, 0.0..=MOST_COUNTS, "");
        let [left, right, reference, soft] = areas;
        if left.or(right).is_none() && seen_left.or(seen_right).is_none() && check.errors.is_empty() {
            check.errors.add("left_counts", "Enter counts and pixels of a side, or grade it by eye.");
        }
        let timed = areas.iter().flatten().filter(|area| area.at.is_some()).count();
        if timed != 0 && timed != areas.iter().flatten().count() {
            check
                .errors
                .add("left_time", "Enter the time of every area, or of none when all lie on one picture.");
        }
        let half_life_h =
            scene.half_life_h().or(decay::half_life(decay::USUAL_NUCLIDE).map(|row| row.hours).ok())?;
        let meant = Region {
            name,
            protocol,
            left,
            right,
            reference,
            soft,
            background,
            seen_left,
            seen_right,
            half_life_h,
        };
        if check.errors.is_empty()
            && let Err(refused) = reckon(&meant)
        {
            check.errors.add("left_counts", format!("This cannot be reckoned: {refused}."));
        }
        Some(meant)
    }
}

/// One area; nothing where nothing was typed.
fn area(check: &mut Check, typed: TypedArea<'_>, (from, zone): (At, &TimeZone)) -> Option<Area> {
    let [(counts_field, _, counts), (pixels_field, _, pixels), (time_field, _, time)] = typed;
    if typed.iter().all(|(_, _, words)| words.trim().is_empty()) {
        return None;
    }
    for (field, words) in [(counts_field, counts), (pixels_field, pixels)] {
        if words.trim().is_empty() {
            check.errors.add(field, "Counts and pixels belong together: enter both.");
        }
    }
    let counts = check.number(counts_field, counts, 0.0..=MOST_COUNTS, "");
    let pixels = check.number(pixels_field, pixels, 1.0..=MOST_PIXELS, "");
    let at = if time.trim().is_empty() { None } else { when::after(check, time_field, time, from, zone) };
    Some(Area { counts: counts?, pixels: pixels?, at })
}

fn seen_by_eye(check: &mut Check, field: &str, typed: &str) -> Option<u8> {
    let grades = &catalogue().diagnostics.scintigraphy.grades;
    let known = grades.get(typed).and_then(|row| row.code.parse().ok());
    if known.is_none() && !typed.is_empty() {
        check.errors.add(field, "Choose a grade.");
    }
    known
}
