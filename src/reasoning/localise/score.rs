//! How well each structure alone explains all answers.

use super::{
    evidence::{Evidence, Piece},
    likelihood::{Chance, Setting, chance},
    own,
    support::Hint,
    words,
};
use crate::catalogue::localise::{Effect, Localising, Structure};

/// A structure, weighed.
#[derive(Debug)]
pub(super) struct Scored<'a> {
    pub(super) structure: &'a Structure,
    /// 1 for a structure that explains every answer; see the product in [`all`].
    pub(super) score: f64,
    /// The chance of all answers, were this the source.
    pub(super) likelihood: f64,
    pub(super) standing: &'a str,
    pub(super) because: Vec<String>,
    /// What the examination adds: pieces for, less pieces against. It breaks ties only.
    pub(super) hints: i32,
}

impl Scored<'_> {
    pub(super) fn is_candidate(&self) -> bool {
        self.standing == "candidate"
    }

    /// A candidate, or possible.
    pub(super) fn stands(&self) -> bool {
        matches!(self.standing, "candidate" | "possible")
    }
}

/// Every structure of the limb, best first.
pub(super) fn all<'a>(evidence: &Evidence<'a>, setting: &Setting<'a>, hints: &[Hint<'_>]) -> Vec<Scored<'a>> {
    let mut all: Vec<Scored<'a>> =
        setting.rows.sources(setting.limb).map(|row| weigh(row, evidence, setting, hints)).collect();
    // The sort is stable: distal first among equals.
    all.sort_by(|a, b| {
        let by_blocks = b.score.total_cmp(&a.score).then(b.likelihood.total_cmp(&a.likelihood));
        by_blocks.then(b.hints.cmp(&a.hints))
    });
    all
}

fn weigh<'a>(
    row: &'a Structure,
    evidence: &Evidence<'a>,
    setting: &Setting<'a>,
    hints: &[Hint<'_>],
) -> Scored<'a> {
    let (mut score, mut likelihood, mut because) = (1.0, 1.0, Vec::new());
    for piece in &evidence.pieces {
        let found = numbs(row, piece, setting);
        score *= explains(piece, found.p, setting);
        likelihood *= piece.answer.slope * found.p + piece.answer.base;
        because.push(words::evidence(row, piece, &found, setting));
    }
    let of_row = || hints.iter().filter(|hint| hint.structures.contains(&row.code));
    because.extend(of_row().map(|hint| hint.sentence.clone()));
    let hints = of_row().map(|hint| if hint.effect == Effect::Supports { 1 } else { -1 }).sum();
    let of_score = setting.rows.standings.iter().find(|bound| score >= bound.at_least);
    let standing = of_score.map_or("excluded", |bound| bound.code.as_str());
    because.extend(own::standing(standing, setting.rows));
    Scored { structure: row, score, likelihood, standing, because, hints }
}

/// The chance that the structure was numb at the reading: by this block, or by one that still held.
pub(super) fn numbs<'a>(row: &Structure, piece: &Piece<'a>, setting: &Setting<'a>) -> Chance<'a> {
    let own = chance(setting, &row.code, &piece.block.code, &piece.way, &piece.published);
    piece.active.iter().fold(own, |most, earlier| {
        let before = chance(setting, &row.code, &earlier.block.code, &earlier.way, &earlier.published);
        if before.p > most.p { before } else { most }
    })
}

/// The chance of the answer against that of a structure which explains it fully. Usually numb is enough for an
/// improvement: another yes must never push such a structure down.
fn explains(piece: &Piece<'_>, p: f64, setting: &Setting<'_>) -> f64 {
    let answer = piece.answer;
    let not_reached = setting.rows.weights.last().map_or(0.0, |weight| weight.chance);
    let full = if answer.slope < 0.0 { not_reached } else { setting.rows.number("numb_from") };
    ((answer.slope * p + answer.base) / (answer.slope * full + answer.base)).min(1.0)
}

/// Whether no single source explains the answers: every score is low, several answers were in part, or an answer in
/// part became more with another block on top.
pub(super) fn several_sources(evidence: &Evidence<'_>, scored: &[Scored<'_>], rows: &Localising) -> bool {
    let below = rows.number("several_below");
    let partly = evidence.pieces.iter().filter(|piece| piece.is_better() && !piece.is_positive()).count();
    let on_top = evidence.pieces.iter().any(|piece| piece.is_better() && !piece.is_clean);
    let none_explains = !evidence.pieces.is_empty() && scored.iter().all(|row| row.score < below);
    none_explains || partly >= 2 || (partly >= 1 && on_top)
}
