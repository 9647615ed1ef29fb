//! How lame each limb went over time under one condition, a chart for each scale: grades of two scales are never
//! put on one line.

use std::collections::HashMap;

use super::{Standing, answers::Line};
use crate::{
    catalogue::{Limb, catalogue},
    clock::At,
    ids::VisitId,
    record::Kind,
};

/// One grade of one limb.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// The visit, by its position.
    pub visit: usize,
    pub grade: f64,
}

/// The grades of the four limbs on one scale, in the order of the visits.
#[derive(Debug, Clone)]
pub struct Course {
    pub scale: String,
    pub limbs: [Vec<Point>; 4],
}

/// The conditions that were ever graded, the most often used first.
pub fn conditions(lines: &[Line], standing: &Standing) -> Vec<String> {
    let mut count: HashMap<&str, usize> = HashMap::new();
    for line in graded(lines, standing) {
        *count.entry(line.body.code.as_deref().unwrap_or_default()).or_default() += 1;
    }
    let mut all: Vec<_> = count.into_iter().collect();
    all.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    all.into_iter().map(|(code, _)| code.to_owned()).collect()
}

/// A course for each scale used under `condition`, the one used last first. The worst grade of a visit counts.
pub fn courses(visits: &[VisitId], lines: &[Line], condition: &str, standing: &Standing) -> Vec<Course> {
    let mut all: Vec<Course> = Vec::new();
    for line in graded(lines, standing).filter(|l| l.body.code.as_deref() == Some(condition)) {
        let body = &line.body;
        let (Some(grade), Some(limb)) = (body.grade, body.limb.as_deref()) else { continue };
        let Some(visit) = visits.iter().position(|v| *v == line.visit) else { continue };
        let Some(limb) = Limb::ALL.iter().position(|l| l.code() == limb) else { continue };
        let scale = body.scale.as_deref().unwrap_or_default();
        let at = all.iter().position(|c| c.scale == scale).unwrap_or_else(|| {
            all.push(Course { scale: scale.to_owned(), limbs: Default::default() });
            all.len() - 1
        });
        if let Some(points) = all.get_mut(at).and_then(|c| c.limbs.get_mut(limb)) {
            note(points, Point { visit, grade });
        }
    }
    for points in all.iter_mut().flat_map(|c| &mut c.limbs) {
        points.sort_by_key(|p| p.visit);
    }
    all.sort_by_key(|c| std::cmp::Reverse(c.limbs.iter().flatten().map(|p| p.visit).max()));
    all
}

fn note(points: &mut Vec<Point>, point: Point) {
    match points.iter_mut().find(|p| p.visit == point.visit) {
        Some(known) => known.grade = known.grade.max(point.grade),
        None => points.push(point),
    }
}

fn graded<'a>(lines: &'a [Line], standing: &'a Standing) -> impl Iterator<Item = &'a Line> {
    lines
        .iter()
        .filter(move |l| l.body.kind == Kind::Gait && l.body.grade.is_some() && standing.stands(l.id, l.late))
}

/// One limb's line as it is drawn, in a box of 220 by 120 units.
#[derive(Debug)]
pub struct Drawn {
    pub limb: Limb,
    /// The way of the line, for an SVG path.
    pub path: String,
    pub dots: Vec<(f64, f64)>,
    /// The newest grade.
    pub last: String,
}

const WIDTH: f64 = 220.0;
const HEIGHT: f64 = 120.0;

/// A line at each whole grade and the four limbs over it; time runs to the right.
#[derive(Debug)]
pub struct Chart {
    pub title: String,
    pub attribution: String,
    /// Each whole grade and how far down its line is.
    pub rules: Vec<(u8, f64)>,
    pub top: u8,
    pub limbs: Vec<Drawn>,
}

impl Chart {
    pub fn draw(course: &Course, times: &[At]) -> Self {
        let scale = catalogue().scale(&course.scale);
        let (bottom, top) = scale.map_or((0, 5), crate::catalogue::Scale::range);
        let y = |grade: f64| {
            let share = (grade - f64::from(bottom)) / f64::from(top - bottom).max(1.0);
            tenth(HEIGHT - 5.0 - share * (HEIGHT - 10.0))
        };
        let used = || course.limbs.iter().flatten().filter_map(|p| times.get(p.visit)).map(|at| at.0);
        let (from, to) = (used().min().unwrap_or(0), used().max().unwrap_or(0));
        let x = |visit: usize| {
            let at = times.get(visit).map_or(from, |at| at.0);
            #[expect(clippy::cast_precision_loss, reason = "a pixel is days wide")]
            let share = if to == from { 0.5 } else { (at - from) as f64 / (to - from) as f64 };
            tenth(5.0 + share * (WIDTH - 10.0))
        };
        let limb = |(limb, points): (&Limb, &Vec<Point>)| {
            let dots: Vec<_> = points.iter().map(|p| (x(p.visit), y(p.grade))).collect();
            let last = points.last().map_or_else(|| "not graded".into(), |p| p.grade.to_string());
            Drawn { limb: *limb, path: path(&dots), dots, last }
        };
        Chart {
            title: scale.map_or_else(|| course.scale.clone(), |s| s.title.clone()),
            attribution: scale.map_or_else(String::new, |s| s.attribution.clone()),
            rules: (bottom..=top).map(|grade| (grade, y(f64::from(grade)))).collect(),
            top,
            limbs: Limb::ALL.iter().zip(&course.limbs).map(limb).collect(),
        }
    }
}

fn path(dots: &[(f64, f64)]) -> String {
    let steps: Vec<String> = dots.iter().map(|(x, y)| format!("{x} {y}")).collect();
    format!("M{}", steps.join("L"))
}

fn tenth(n: f64) -> f64 {
    (n * 10.0).round() / 10.0
}
