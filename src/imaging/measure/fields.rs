//! What stands in the form of a picture that is measured: marks as text, so that whoever cannot tap can type them, and
//! a page without script can carry them on.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::{record::Marked, web::Check};

/// Marks are set to a tenth of a pixel.
const FINE: f64 = 10.0;
/// Corners of one outline: more than a hand traces.
const MOST_CORNERS: usize = 400;
const POINT: &str = "point-";
const OUTLINE: &str = "outline-";

/// Fields by name, as they were typed. Which of them mean something depends on what is measured.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(transparent)]
pub(in crate::imaging) struct Fields(BTreeMap<String, String>);

impl Fields {
    /// The fields that an entry was made of.
    pub(super) fn of(marked: &Marked) -> Self {
        let mut fields = Fields(marked.with.clone());
        for (name, at) in &marked.points {
            fields.set(&point_field(name), write(*at));
        }
        for (name, corners) in &marked.outlines {
            fields.set(&outline_field(name), write_all(corners));
        }
        fields.set("frame", marked.frame.to_string());
        fields
    }

    pub(super) fn get(&self, name: &str) -> &str {
        self.0.get(name).map_or("", |typed| typed.trim())
    }

    pub(super) fn set(&mut self, name: &str, value: impl Into<String>) {
        self.0.insert(name.to_owned(), value.into());
    }

    /// Sets what nobody has chosen yet.
    pub(super) fn propose(&mut self, name: &str, value: &str) {
        if !self.0.contains_key(name) {
            self.set(name, value);
        }
    }

    pub(super) fn point(&self, name: &str) -> &str {
        self.get(&point_field(name))
    }

    pub(super) fn outline(&self, name: &str) -> &str {
        self.get(&outline_field(name))
    }

    /// A point of the picture, or nothing.
    pub(super) fn read_point(&self, name: &str, size: Size, check: &mut Check) -> Option<[f64; 2]> {
        let typed = self.point(name);
        if typed.is_empty() {
            return None;
        }
        let read = read(typed).filter(|at| lies_in(*at, size));
        if read.is_none() {
            check.errors.add(&point_field(name), wrong(size));
        }
        read
    }

    /// The corners of an outline; none when nothing was traced.
    pub(super) fn read_outline(&self, name: &str, size: Size, check: &mut Check) -> Vec<[f64; 2]> {
        let field = outline_field(name);
        let typed: Vec<&str> = self.outline(name).split_whitespace().collect();
        if typed.len() > MOST_CORNERS {
            check.errors.add(&field, format!("{MOST_CORNERS} corners are enough: take some back."));
            return Vec::new();
        }
        let corners = typed.into_iter().map(|corner| read(corner).filter(|at| lies_in(*at, size)));
        corners.collect::<Option<Vec<_>>>().unwrap_or_else(|| {
            check.errors.add(&field, format!("{} A space stands between corners.", wrong(size)));
            Vec::new()
        })
    }

    /// Takes a tap on the picture of a page without script: `width` is how wide the picture stood there.
    pub(super) fn take_tap(&mut self, columns: u16, width: u32) -> Option<[f64; 2]> {
        let x: f64 = self.0.remove("at.x")?.parse().ok()?;
        let y: f64 = self.0.remove("at.y")?.parse().ok()?;
        let by = f64::from(columns) / f64::from(width.max(1));
        Some([fine((x + 0.5) * by), fine((y + 0.5) * by)])
    }

    pub(super) fn set_point(&mut self, name: &str, at: [f64; 2]) {
        self.set(&point_field(name), write(at));
    }

    pub(super) fn add_corner(&mut self, name: &str, at: [f64; 2]) {
        let corners = format!("{} {}", self.outline(name), write(at));
        self.set(&outline_field(name), corners.trim());
    }

    pub(super) fn drop_corner(&mut self, name: &str) {
        let left =
            self.outline(name).rsplit_once(char::is_whitespace).map_or("", |(left, _)| left).to_owned();
        self.set(&outline_field(name), left);
    }

    /// The named ones that say something.
    pub(super) fn picked(&self, names: &[&str]) -> BTreeMap<String, String> {
        let said = names.iter().map(|name| ((*name).to_owned(), self.get(name).to_owned()));
        said.filter(|(_, value)| !value.is_empty()).collect()
    }

    /// As hidden fields of another form of the page.
    pub(super) fn all(&self) -> impl Iterator<Item = (&String, &String)> {
        self.0.iter().filter(|(name, _)| !matches!(name.as_str(), "submission" | "centre" | "width"))
    }
}

/// Columns and rows of a picture.
pub(super) type Size = (u16, u16);

pub(super) fn point_field(name: &str) -> String {
    format!("{POINT}{name}")
}

pub(super) fn outline_field(name: &str) -> String {
    format!("{OUTLINE}{name}")
}

fn wrong((columns, rows): Size) -> String {
    format!(
        "Enter a place on the picture as across,down in pixels, such as 120.5,88. It is {columns} by {rows}."
    )
}

/// "512.4,833"
fn write([x, y]: [f64; 2]) -> String {
    format!("{},{}", fine(x), fine(y))
}

fn write_all(corners: &[[f64; 2]]) -> String {
    corners.iter().map(|at| write(*at)).collect::<Vec<_>>().join(" ")
}

fn fine(pixels: f64) -> f64 {
    (pixels * FINE).round() / FINE
}

fn read(typed: &str) -> Option<[f64; 2]> {
    let (x, y) = typed.split_once(',')?;
    let at = [x.trim().parse::<f64>().ok()?, y.trim().parse::<f64>().ok()?];
    at.iter().all(|pixels| pixels.is_finite()).then(|| at.map(fine))
}

fn lies_in([x, y]: [f64; 2], (columns, rows): Size) -> bool {
    (0.0..=f64::from(columns)).contains(&x) && (0.0..=f64::from(rows)).contains(&y)
}
