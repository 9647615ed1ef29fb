//! Which pictures fit what still stands.

use super::{
    evidence::{Evidence, Piece},
    output::Pictures,
    score::Scored,
    stops::Halt,
    support::Hint,
    words,
};
use crate::catalogue::localise::{Effect, Localising, Structure};

/// The share of what still stands below which a set is not worth its while.
const WORTH: f64 = 0.1;

/// The sets for the candidates once a block made it better. Where no block may be done, or none helped up to the top of
/// the limb, a bone scan, and the sets for what the examination points at. Best first, plain pictures before the others.
pub(super) fn sets(
    evidence: &Evidence<'_>,
    scored: &[Scored<'_>],
    hints: &[Hint<'_>],
    halt: &Halt,
    rows: &Localising,
) -> Vec<Pictures> {
    if evidence.pieces.iter().any(Piece::is_better) {
        let standing: Vec<_> = scored.iter().filter(|row| row.is_candidate()).collect();
        let standing =
            if standing.is_empty() { scored.iter().filter(|row| row.stands()).collect() } else { standing };
        let standing: Vec<_> = standing.iter().map(|row| (row.structure, row.likelihood)).collect();
        return weighed(&standing, rows);
    }
    let is_unblocked = words::is_unblocked(evidence);
    if !halt.holds_all && !is_unblocked {
        return Vec::new();
    }
    let pointed: Vec<_> = scored
        .iter()
        .filter(|row| {
            hints
                .iter()
                .any(|hint| hint.effect == Effect::Supports && hint.structures.contains(&row.structure.code))
        })
        .map(|row| (row.structure, 1.0))
        .collect();
    let mut sets = weighed(&pointed, rows);
    sets.retain(|set| set.set != "SCINT");
    let why = if halt.holds_all { "no block may be done" } else { "no block up the limb helped" };
    let wide = if halt.holds_all { &["SCINT"][..] } else { &["SCINT", "RX_NECK"] };
    sets.extend(wide.iter().filter_map(|code| {
        let row = rows.imaging.get(code)?;
        Some(Pictures { set: row.code.clone(), why: format!("{}, since {why}: {}.", row.name, row.views) })
    }));
    sets
}

fn weighed(standing: &[(&Structure, f64)], rows: &Localising) -> Vec<Pictures> {
    let sum: f64 = standing.iter().map(|(_, weight)| weight).sum();
    let mut found: Vec<(bool, f64, Pictures)> = rows
        .imaging
        .iter()
        .filter_map(|set| {
            let fits: Vec<_> = standing.iter().filter(|(row, _)| row.imaging.contains(&set.code)).collect();
            let share = fits.iter().map(|(_, weight)| weight).sum::<f64>() / sum.max(f64::MIN_POSITIVE);
            let names: Vec<&str> = fits.iter().map(|(row, _)| row.name.as_str()).collect();
            let why = format!("{} for {}: {}.", set.name, words::list(&names), set.views);
            (share >= WORTH).then(|| (set.last, share, Pictures { set: set.code.clone(), why }))
        })
        .collect();
    found.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)));
    found.into_iter().map(|(_, _, set)| set).collect()
}
