//! The drawing behind the plan: where each place stands and the lines around it, read from `drawing.toml`.
//!
//! A fore limb, a hind limb and a sole are drawn once, for the left, in coordinates of their own; the right ones
//! are their mirror images.

use std::sync::LazyLock;

use serde::Deserialize;

/// The whole picture, every spot where it stands on the sheet.
#[derive(Debug)]
pub struct Drawing {
    pub width: f64,
    pub height: f64,
    pub spots: Vec<DrawingSpot>,
    pub(super) parts: Vec<Part>,
}

/// A place on the sheet that can be tapped. Small neighbours share one.
#[derive(Debug)]
pub struct DrawingSpot {
    /// "left fore fetlock, dorsal"
    pub name: String,
    pub x: f64,
    pub y: f64,
    /// Keys of the places it stands for, `FETL_D.L`.
    pub places: Vec<String>,
}

/// Lines drawn at a place, perhaps mirrored, with small words beside.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) mirrored: bool,
    pub(super) head: String,
    pub(super) lines: &'static [Line],
    pub(super) labels: &'static [Label],
}

/// A stroke: `kind` is its weight (`main`, `fine`), `d` its path. On the sheet all of a weight are one.
#[derive(Debug, Deserialize)]
pub(super) struct Line {
    pub(super) kind: String,
    pub(super) d: String,
}

/// A short word on the drawing; hidden where the drawing is too small to read it.
#[derive(Debug, Deserialize)]
pub(super) struct Label {
    pub(super) word: String,
    pub(super) y: f64,
}

#[derive(Deserialize)]
struct File {
    width: f64,
    height: f64,
    axis: PartFile,
    fore: PartFile,
    hind: PartFile,
    sole: PartFile,
    limb: Vec<LimbFile>,
}

#[derive(Deserialize)]
struct PartFile {
    line: Vec<Line>,
    #[serde(default)]
    label: Vec<Label>,
    spot: Vec<SpotFile>,
}

/// `places` are region codes on a limb or a foot, and whole keys on the axis.
#[derive(Deserialize)]
struct SpotFile {
    name: String,
    x: f64,
    y: f64,
    places: Vec<String>,
}

#[derive(Deserialize)]
struct LimbFile {
    code: String,
    name: String,
    side: String,
    x: f64,
    y: f64,
    sole_y: f64,
}

/// The drawing, laid out once.
pub fn drawing() -> &'static Drawing {
    static DRAWING: LazyLock<Drawing> = LazyLock::new(|| lay_out(&FILE));
    &DRAWING
}

static FILE: LazyLock<File> = LazyLock::new(|| {
    let mut file: File = toml::from_str(include_str!("drawing.toml"))
        .expect("the file is part of the program and tests read it");
    for part in [&mut file.axis, &mut file.fore, &mut file.hind, &mut file.sole] {
        part.line = joined(std::mem::take(&mut part.line));
    }
    file
});

/// The strokes of each weight as one: the plan is on every exam, and each stroke would be an element of the page.
fn joined(lines: Vec<Line>) -> Vec<Line> {
    let mut joined: Vec<Line> = Vec::new();
    for line in lines {
        match joined.iter_mut().find(|known| known.kind == line.kind) {
            Some(known) => known.d.push_str(&line.d),
            None => joined.push(line),
        }
    }
    joined
}

fn lay_out(file: &'static File) -> Drawing {
    let mut drawing =
        Drawing { width: file.width, height: file.height, spots: Vec::new(), parts: Vec::new() };
    let middle = file.width / 2.0;
    drawing.place(&file.axis, (middle, 0.0), false, String::new(), |spot| {
        (spot.name.clone(), spot.places.clone())
    });
    for limb in &file.limb {
        let ladder = if limb.code.ends_with('F') { &file.fore } else { &file.hind };
        let mirrored = limb.side == "R";
        drawing.place(ladder, (limb.x, limb.y), mirrored, limb.code.clone(), |spot| {
            (format!("{} {}", limb.name, spot.name), keys(&spot.places, &limb.side))
        });
        drawing.place(&file.sole, (limb.x, limb.sole_y), mirrored, String::new(), |spot| {
            (format!("{} foot, {}", limb.name, spot.name), keys(&spot.places, &limb.code))
        });
    }
    drawing
}

fn keys(regions: &[String], at: &str) -> Vec<String> {
    regions.iter().map(|region| format!("{region}.{at}")).collect()
}

impl Drawing {
    fn place(
        &mut self,
        part: &'static PartFile,
        (x, y): (f64, f64),
        mirrored: bool,
        head: String,
        called: impl Fn(&SpotFile) -> (String, Vec<String>),
    ) {
        let turn = if mirrored { -1.0 } else { 1.0 };
        self.parts.push(Part { x, y, mirrored, head, lines: &part.line, labels: &part.label });
        self.spots.extend(part.spot.iter().map(|spot| {
            let (name, places) = called(spot);
            DrawingSpot { name, places, x: x + turn * spot.x, y: y + spot.y }
        }));
    }
}
