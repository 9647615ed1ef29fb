//! Marks as they are drawn over the picture, in its pixels.

use crate::record::Marked;

/// A cross with its name.
pub(super) struct Cross {
    pub name: String,
    pub x: f64,
    pub y: f64,
}

/// A line between two points that belong together: the ground, a wall, a marker.
pub(super) struct Line {
    pub from: [f64; 2],
    pub to: [f64; 2],
}

/// An outline with its corners, as SVG writes them.
pub(super) struct Outline {
    pub name: String,
    pub corners: String,
}

pub(super) struct Overlay {
    pub crosses: Vec<Cross>,
    pub lines: Vec<Line>,
    pub outlines: Vec<Outline>,
}

impl Overlay {
    pub(super) fn of(marked: &Marked) -> Self {
        let crosses = marked.points.iter().map(|(name, [x, y])| Cross { name: name.clone(), x: *x, y: *y });
        let outlines = marked.outlines.iter().map(|(name, corners)| Outline {
            name: name.clone(),
            corners: corners.iter().map(|[x, y]| format!("{x},{y}")).collect::<Vec<_>>().join(" "),
        });
        // Points of one line are called alike: W1 and W2.
        let lines = marked.points.iter().filter_map(|(name, from)| {
            let other = format!("{}2", name.strip_suffix('1')?);
            Some(Line { from: *from, to: *marked.points.get(&other)? })
        });
        Overlay { crosses: crosses.collect(), lines: lines.collect(), outlines: outlines.collect() }
    }
}
