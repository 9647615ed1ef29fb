//! Which block would tell most next: of those that the order allows, the information that each is expected to give.

use super::{
    evidence::{Evidence, Piece},
    gain::{entropy, expected},
    likelihood::{Setting, Way, chance, published},
    output::{Next, rounded},
    score::Scored,
    stops::Halt,
    support::Hint,
    words::{self, Worth},
};
use crate::catalogue::{
    Block, Pair, catalogue,
    localise::{Effect, Rung},
};

/// So many alternatives stand there, even when the last tell next to nothing.
const AT_LEAST: usize = 3;
/// Bits below which a block tells nothing worth a needle.
const WORTH_BITS: f64 = 0.01;

pub(super) fn alternatives(
    evidence: &Evidence<'_>,
    scored: &[Scored<'_>],
    setting: &Setting<'_>,
    hints: &[Hint<'_>],
    halt: &Halt,
) -> Vec<Next> {
    if halt.holds_all {
        return Vec::new();
    }
    let open = opened(evidence, setting);
    let pair = Pair::of(setting.limb);
    let rungs = setting.rows.ladder.iter().filter(|rung| rung.limb == pair);
    let mut all: Vec<Next> = rungs
        .filter(|rung| is_allowed(rung, open, evidence, hints, halt, setting))
        .filter(|rung| !is_within_a_no(rung, evidence, scored, setting))
        .filter_map(|rung| Some(weigh(catalogue().block(&rung.block)?, rung, evidence, scored, setting)))
        .collect();
    // The sort is stable: distal first among equals.
    all.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    let worth = all.iter().filter(|next| next.gain >= WORTH_BITS).count();
    all.truncate(worth.max(AT_LEAST));
    all
}

fn rung<'a>(block: &Block, setting: &Setting<'a>) -> Option<&'a Rung> {
    let pair = Pair::of(setting.limb);
    setting.rows.ladder.iter().find(|rung| rung.limb == pair && rung.block == block.code)
}

/// The highest step that answers have opened: a no goes up the limb, a yes splits its field with the next step's joints.
fn opened(evidence: &Evidence<'_>, setting: &Setting<'_>) -> u8 {
    let steps = evidence.pieces.iter().filter_map(|piece| {
        let rung = rung(piece.block, setting)?;
        if piece.is_negative() {
            Some(rung.opens)
        } else if piece.is_better() {
            Some(rung.step + 1)
        } else {
            None
        }
    });
    steps.max().unwrap_or(1).max(1)
}

fn is_allowed(
    rung: &Rung,
    open: u8,
    evidence: &Evidence<'_>,
    hints: &[Hint<'_>],
    halt: &Halt,
    setting: &Setting<'_>,
) -> bool {
    let answered =
        |piece: &Piece<'_>| piece.block.code == rung.block && (piece.is_better() || piece.is_negative());
    let points_there = |hint: &Hint<'_>| {
        hint.effect == Effect::Supports && hint.structures.iter().any(|code| rung.early_for.contains(code))
    };
    (rung.step <= open || hints.iter().any(points_there))
        && !evidence.pieces.iter().any(answered)
        && !rung.regions.iter().any(|region| halt.regions.contains(region))
        && !is_above_a_yes(rung, evidence, setting)
}

/// A nerve block above one that already took the lameness away would numb its field again.
fn is_above_a_yes(of: &Rung, evidence: &Evidence<'_>, setting: &Setting<'_>) -> bool {
    catalogue().block(&of.block).is_some_and(Block::is_nerve)
        && evidence.pieces.iter().any(|piece| {
            piece.is_positive() && rung(piece.block, setting).is_some_and(|done| done.step < of.step)
        })
}

/// A block that numbs nothing which one without effect did not numb as surely: it was answered with that one.
fn is_within_a_no(of: &Rung, evidence: &Evidence<'_>, scored: &[Scored<'_>], setting: &Setting<'_>) -> bool {
    let chances = |block: &str| chances(block, scored, setting);
    let own = chances(&of.block);
    let holds = |done: &str| chances(done).iter().zip(&own).all(|(done, own)| done >= own);
    evidence.pieces.iter().any(|piece| piece.is_negative() && holds(&piece.block.code))
}

/// How likely a block is to numb each structure, as it is usually done and read.
fn chances(block: &str, scored: &[Scored<'_>], setting: &Setting<'_>) -> Vec<f64> {
    let way = Way::usual(setting.rows.clocks.get(block).map_or(0.0, |clock| clock.assess_min));
    let published = published(setting, block, &way);
    let chance = |row: &Scored<'_>| chance(setting, &row.structure.code, block, &way, &published).p;
    scored.iter().map(chance).collect()
}

fn weigh(
    block: &'static Block,
    rung: &Rung,
    evidence: &Evidence<'_>,
    scored: &[Scored<'_>],
    setting: &Setting<'_>,
) -> Next {
    let clock = setting.rows.clocks.get(&rung.block);
    let weights: Vec<f64> = scored.iter().map(|row| row.likelihood).collect();
    let chances = chances(&rung.block, scored, setting);
    let gain = rounded(expected(&weights, &chances));
    let worth = Worth {
        block,
        clock,
        gain,
        of_bits: entropy(weights.iter().copied()),
        yes: scored.iter().zip(&chances).map(|(row, p)| row.likelihood * p).sum::<f64>()
            / weights.iter().sum::<f64>().max(f64::MIN_POSITIVE),
        is_repeat: evidence.uncounted.iter().any(|done| done.code == rung.block),
        must_wait: evidence.pieces.iter().any(Piece::is_better),
    };
    Next { block: rung.block.clone(), gain, why: words::why(&worth, scored, &chances, setting) }
}
