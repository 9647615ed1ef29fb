//! How large a pixel is on the horse: by a marker in the picture, by the distances of the room, or by what the file
//! says.

use std::ops::RangeInclusive;

use super::fields::{Fields, point_field};
use crate::{
    imaging::picture::{Facts, Scale as Stated, Spacing},
    reasoning::hoof::calibrate,
    record::Marked,
    web::Check,
};

/// The two ends of a marker of known length.
pub(super) const MARKER: [&str; 2] = ["K1", "K2"];
/// Millimetres that a marker may be long.
const MARKER_MM: RangeInclusive<f64> = 1.0..=500.0;
/// Centimetres from the tube to the detector, and from the horse to it.
const SOURCE_CM: RangeInclusive<f64> = 20.0..=500.0;
const OBJECT_CM: RangeInclusive<f64> = 0.0..=200.0;

/// Millimetres a pixel, across and down, and how they are known.
pub(super) struct Scale {
    pub pixel_mm: [f64; 2],
    words: String,
    uncorrected: bool,
}

impl Scale {
    pub(super) fn put(self, marked: &mut Marked) {
        marked.pixel_mm = Some(self.pixel_mm);
        marked.uncorrected = self.uncorrected;
        marked.scale = Some(self.words);
    }
}

/// What can be chosen for this picture, with its words.
pub(super) fn choices(facts: &Facts) -> Vec<(&'static str, String)> {
    let spacing = facts.spacing.as_ref();
    let at_detector = spacing.is_some_and(|spacing| spacing.scale == Stated::Detector);
    let marker = ("marker", "by a marker of known length in the plane of the bone".to_owned());
    let room = at_detector.then(|| ("room", "by the distances of tube, horse and detector".to_owned()));
    let stated = spacing.map(|spacing| ("file", format!("as the file says: {}", spacing.scale.words())));
    let none = ("none", "none: angles and ratios only".to_owned());
    [Some(marker), room, stated, Some(none)].into_iter().flatten().collect()
}

/// What was chosen; none where only angles and ratios are asked for, or where the marker is not marked yet. What else was
/// typed is read too, so that nothing unreadable is kept with the marks.
pub(super) fn read(fields: &Fields, facts: &Facts, check: &mut Check) -> Option<Scale> {
    let ends = MARKER.map(|name| fields.read_point(name, (facts.columns, facts.rows), check));
    let length = check.number("marker_mm", fields.get("marker_mm"), MARKER_MM, "mm");
    let source = check.number("source_cm", fields.get("source_cm"), SOURCE_CM, "cm");
    let object = check.number("object_cm", fields.get("object_cm"), OBJECT_CM, "cm");
    match (fields.get("scale"), facts.spacing.as_ref()) {
        ("marker", spacing) => {
            let [Some(one), Some(other)] = ends else { return None };
            by_marker(length?, (one, other), spacing, check)
        }
        ("room", Some(spacing)) if spacing.scale == Stated::Detector => {
            by_room(source?, object?, spacing, check)
        }
        ("file", Some(spacing)) => Some(Scale {
            pixel_mm: [spacing.columns_mm, spacing.rows_mm],
            words: format!("as the file says, {}", spacing.scale.words()),
            uncorrected: spacing.scale == Stated::Detector,
        }),
        ("none" | "", _) => None,
        _ => {
            check.errors.add("scale", "This picture does not say that much: mark a marker of known length.");
            None
        }
    }
}

fn by_marker(
    length: f64,
    (one, other): ([f64; 2], [f64; 2]),
    spacing: Option<&Spacing>,
    check: &mut Check,
) -> Option<Scale> {
    // Whether pixels are square is as the file says; the marker tells how large they are.
    let tall = spacing.map_or(1.0, |spacing| spacing.rows_mm / spacing.columns_mm);
    let [across, down] = [other[0] - one[0], other[1] - one[1]];
    let Ok(pixel) = calibrate::by_marker(length, across.hypot(down * tall)) else {
        check.errors.add(&point_field(MARKER[1]), "Mark the other end of the marker, away from the first.");
        return None;
    };
    let words = format!("by a marker of {length} mm");
    Some(Scale { pixel_mm: [pixel.mm, pixel.mm * tall], words, uncorrected: false })
}

fn by_room(source: f64, object: f64, spacing: &Spacing, check: &mut Check) -> Option<Scale> {
    let Ok(by) = calibrate::magnification(source, object) else {
        check
            .errors
            .add("object_cm", "The horse stands before the detector: enter less than the tube's distance.");
        return None;
    };
    Some(Scale {
        pixel_mm: [spacing.columns_mm / by, spacing.rows_mm / by],
        words: format!("by the room: tube {source} cm and horse {object} cm from the detector"),
        uncorrected: false,
    })
}

/// Keeps the ends of the marker with the marks.
pub(super) fn put_marker(fields: &Fields, facts: &Facts, marked: &mut Marked) {
    for name in MARKER {
        // What is wrong with them was said where they were read.
        if let Some(at) = fields.read_point(name, (facts.columns, facts.rows), &mut Check::new()) {
            marked.points.insert(name.to_owned(), at);
        }
    }
}
