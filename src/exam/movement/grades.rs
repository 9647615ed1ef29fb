//! A grade by one tap: the buttons of a scale beside what stands already.

use std::fmt::Write;

use super::Scene;
use crate::{
    catalogue::{Limb, Scale},
    exam::stamp::Writing,
    ids::EntryId,
    papers::words,
    record::{Body, Entry, NewEntry},
};

/// One button: what it sends, what stands on it, what it is read as.
#[derive(Debug, Clone)]
pub(super) struct Button {
    pub(super) value: String,
    pub(super) label: String,
    pub(super) words: String,
    pub(super) pressed: bool,
}

/// One thing to grade: a limb under a condition, a limb after a test, a pair, the whole horse.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    pub(super) label: String,
    pub(super) said: Option<Said>,
    pub(super) buttons: Vec<Button>,
    /// The last visit's grade, and whether this one is better.
    pub(super) last: String,
}

/// What stands, who said it, and the entry to take back.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub(super) words: String,
    pub(super) author: String,
    pub(super) entry: EntryId,
}

impl Said {
    pub(super) fn new(scene: &Scene, entry: &Entry, words: String) -> Self {
        Said { words, author: scene.author(entry), entry: entry.id }
    }
}

impl Cell {
    /// `key` is what the buttons speak of, `spoken` the same in words.
    pub(super) fn new(scale: &Scale, key: &str, spoken: &str, chosen: Option<f64>) -> Self {
        let mut buttons: Vec<Button> = scale
            .grades
            .iter()
            .map(|row| Button {
                value: format!("{key}:{}", row.value),
                label: row.value.to_string(),
                words: format!("{spoken} {}, {}", row.value, row.word),
                pressed: chosen.is_some_and(|grade| same(grade.floor(), f64::from(row.value))),
            })
            .collect();
        let (_, most) = scale.range();
        let half = chosen.is_some_and(|grade| grade.fract() > 0.0);
        if scale.half && chosen.is_some_and(|grade| grade < f64::from(most)) {
            buttons.push(Button {
                value: format!("{key}:half"),
                label: "½".to_owned(),
                words: format!("{spoken} half a grade more"),
                pressed: half,
            });
        }
        Cell { label: spoken.to_owned(), said: None, buttons, last: String::new() }
    }
}

/// A grade as tapped: a number of the scale, or half a grade on or off what stands.
pub(super) fn read(scale: &Scale, tapped: &str, standing: Option<f64>) -> Option<f64> {
    let grade = match (tapped, standing) {
        ("half", Some(grade)) if grade.fract() > 0.0 => grade.floor(),
        ("half", Some(grade)) => grade + 0.5,
        ("half", None) => return None,
        (number, _) => number.parse().ok()?,
    };
    scale.allows(grade).then_some(grade)
}

/// The entry for a grade: none when the very same stands, a correction when another one does.
pub(super) fn entry(writing: &mut Writing, body: Body, about: impl Fn(&Body) -> bool) -> Option<NewEntry> {
    let standing = writing.standing(about).map(|entry| (entry.id, entry.body.clone()));
    match standing {
        Some((_, Some(said))) if said == body => None,
        Some((id, _)) => Some(writing.entry(body).superseding(id)),
        None => Some(writing.entry(body)),
    }
}

/// "last time 3 (12 Mar), better by 1": only grades of one scale are compared.
pub(super) fn last_time(
    scene: &Scene,
    kind: &str,
    code: &str,
    limb: Limb,
    now: Option<(f64, &str)>,
) -> String {
    let Some(last) = scene.last(kind, code, limb) else { return String::new() };
    let day = last.starts_at.day(&scene.practice.zone).short();
    let mut text = format!("last time {} ({day})", words::grade(Some(&last.scale), last.grade));
    if let Some((grade, scale)) = now
        && scale == last.scale
    {
        let less = last.grade - grade;
        let _ = match less {
            l if same(l, 0.0) => write!(text, ", the same"),
            l if l > 0.0 => write!(text, ", better by {l}"),
            l => write!(text, ", worse by {}", -l),
        };
    }
    text
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < f64::EPSILON
}
