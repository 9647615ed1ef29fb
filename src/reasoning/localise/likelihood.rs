//! How likely a block numbs a structure, as it was done: the letter, what a study says instead, and how far a late
//! reading or a large volume widens it.

use super::input::{Done, Site, WorkUp};
use crate::catalogue::{
    Limb,
    localise::{Localising, Override, When},
};

/// What holds for the whole work-up.
pub(super) struct Setting<'a> {
    pub(super) limb: Limb,
    pub(super) severe: bool,
    pub(super) rows: &'a Localising,
}

impl<'a> Setting<'a> {
    pub(super) fn of(work: &WorkUp, rows: &'a Localising) -> Self {
        let severe = work.lameness.as_ref().is_some_and(|lameness| {
            rows.severe.get(&lameness.scale).is_some_and(|row| lameness.grade >= row.at_least)
        });
        Self { limb: work.limb, severe, rows }
    }
}

/// How one block was done and read.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub(super) minutes: f64,
    pub(super) ml: Option<f64>,
    pub(super) site: Option<Site>,
    /// The answer, as far as published results hang on it.
    pub(super) answer: Option<When>,
    /// Seldom reached structures count as partly reached.
    pub(super) wide: bool,
    pub(super) negative_cap: Option<f64>,
}

impl Way {
    pub(super) fn of(done: &Done, minutes: f64) -> Self {
        Self { minutes, ml: done.volume_ml, site: done.site, answer: None, wide: false, negative_cap: None }
    }

    /// As a block is done by the book.
    pub(super) fn usual(minutes: f64) -> Self {
        Self { minutes, ml: None, site: None, answer: None, wide: false, negative_cap: None }
    }
}

/// The chance that a structure is numb, with the published result it rests on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chance<'a> {
    pub(super) p: f64,
    pub(super) by: Option<&'a Override>,
    pub(super) is_widened: bool,
}

/// Whether a row of published results holds for this block, done this way.
pub(super) fn holds(row: &Override, block: &str, way: &Way, severe: bool) -> bool {
    (row.blocks.is_empty() || row.blocks.iter().any(|code| code == block))
        && row.from_min.is_none_or(|from| way.minutes >= from)
        && row.before_min.is_none_or(|before| way.minutes < before)
        && row.over_ml.is_none_or(|over| way.ml.is_some_and(|ml| ml > over))
        && row.site.as_deref().is_none_or(|site| way.site.is_some_and(|done| done.code() == site))
        && (!row.severe || severe)
        && row.answer.is_none_or(|answer| way.answer == Some(answer))
}

/// The published results that hold for a block done this way, in the order of their file.
pub(super) fn published<'a>(setting: &Setting<'a>, block: &str, way: &Way) -> Vec<&'a Override> {
    setting.rows.overrides.iter().filter(|row| holds(row, block, way, setting.severe)).collect()
}

/// The chance that this block, done this way, numbs the structure; `published` as of [`published`].
pub(super) fn chance<'a>(
    setting: &Setting<'a>,
    structure: &str,
    block: &str,
    way: &Way,
    published: &[&'a Override],
) -> Chance<'a> {
    let by_matrix = setting.rows.chance(setting.limb, structure, block).unwrap_or_default();
    let mut found = Chance { p: by_matrix, by: None, is_widened: false };
    for row in published.iter().filter(|row| row.structures.iter().any(|code| code == structure)) {
        if let Some(chance) = row.chance {
            found = Chance { p: chance, by: Some(row), is_widened: false };
        }
        if let Some(cap) = row.cap.filter(|cap| *cap < found.p) {
            found = Chance { p: cap, by: Some(row), is_widened: false };
        }
    }
    let not_reached = setting.rows.weights.last().map_or(0.0, |row| row.chance);
    let widened = setting.rows.number("widened_to");
    if way.wide && found.p > not_reached && found.p < widened {
        found = Chance { p: widened, is_widened: true, ..found };
    }
    if let Some(cap) = way.negative_cap.filter(|_| way.answer == Some(When::Negative)) {
        found.p = found.p.min(cap);
    }
    found
}
