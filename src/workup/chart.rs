//! Grades before and after each block, as a picture.

use super::{course::Look, reason, scene::Scene};
use crate::catalogue::{Limb, catalogue};

/// One limb under one condition on one scale, in the order of time.
pub struct Chart {
    pub title: String,
    /// All of it in words.
    pub words: String,
    pub width: f64,
    /// Heights and grades of the rules.
    pub rules: Vec<(f64, u8)>,
    /// From before to after, a pair each: x and y of both.
    pub ways: Vec<(f64, f64, f64, f64)>,
    pub dots: Vec<Dot>,
}

pub struct Dot {
    pub x: f64,
    pub y: f64,
    pub grade: f64,
    /// Under the picture: "before", "PDN 8 min".
    pub label: String,
    pub is_after: bool,
}

const STEP: f64 = 54.0;
const TALL: f64 = 70.0;

/// The charts of a visit; a limb without graded looks has none.
pub(super) fn charts(scene: &Scene) -> Vec<Chart> {
    Limb::ALL.into_iter().filter_map(|limb| chart(scene, limb)).collect()
}

fn chart(scene: &Scene, limb: Limb) -> Option<Chart> {
    let graded = |look: &&Look| {
        look.body.grade.is_some() && look.body.after.as_ref().is_some_and(|a| a.before.is_some())
    };
    let all: Vec<(&str, &Look)> = reason::shots_of(scene, limb)
        .flat_map(|shot| shot.looks.iter().filter(graded).map(|look| (shot.block.code.as_str(), look)))
        .collect();
    let (_, first) = all.first()?;
    let (condition, scale) = (first.body.code.clone()?, first.body.scale.clone()?);
    let same =
        |look: &Look| look.body.code.as_ref() == Some(&condition) && look.body.scale.as_ref() == Some(&scale);
    let (_, most) = catalogue().scale(&scale)?.range();
    let y = |grade: f64| 10.0 + TALL * (1.0 - grade / f64::from(most));
    let mut chart = Chart {
        title: format!("{}, {}", limb.name(), catalogue().condition(&condition).map_or("", |row| &row.name)),
        words: String::new(),
        width: 0.0,
        rules: (0..=most)
            .filter(|grade| most <= 5 || grade % 2 == 0)
            .map(|grade| (y(f64::from(grade)), grade))
            .collect(),
        ways: Vec::new(),
        dots: Vec::new(),
    };
    let mut x = STEP / 2.0;
    let mut said = Vec::new();
    for (code, look) in all.iter().filter(|(_, look)| same(look)) {
        let (Some(after), Some(grade)) = (look.body.after.as_ref(), look.body.grade) else { continue };
        let before = after.before.unwrap_or_default();
        let minutes = look.minutes.map(|minutes| format!(" {minutes} min")).unwrap_or_default();
        chart.dots.push(Dot { x, y: y(before), grade: before, label: "before".to_owned(), is_after: false });
        chart.dots.push(Dot {
            x: x + STEP,
            y: y(grade),
            grade,
            label: format!("{code}{minutes}"),
            is_after: true,
        });
        chart.ways.push((x, y(before), x + STEP, y(grade)));
        said.push(format!("{code}{minutes}: from {before} to {grade}"));
        x += 2.0 * STEP;
    }
    chart.width = x - STEP / 2.0;
    chart.words = said.join("; ");
    Some(chart)
}
