//! Diagnostic blocks: which, on which limb, how much went in, and how much better after how long.

use super::{
    heard::{Heard, names_limb},
    piece::Piece,
    reading::{Answer, Ask, Block, Choice, Made},
    scene::Scene,
};
use crate::catalogue::{
    Limb, catalogue,
    words::{Meaning, Outcome, Unit},
};

/// A block being put together.
#[derive(Clone, Debug, Default)]
struct Open<'v> {
    block: Option<(String, String)>,
    limbs: Option<Heard>,
    percent: Option<f64>,
    /// The percentage was said in a word, which a number after it only repeats: "no better, 0 %".
    in_words: bool,
    minutes: Option<f64>,
    ml: Option<f64>,
    of: Vec<Piece<'v>>,
}

impl Open<'_> {
    /// Whether an answer to the block was given.
    fn is_answered(&self) -> bool {
        self.percent.is_some() || self.minutes.is_some()
    }
}

pub(super) fn read<'v>(scene: &mut Scene<'v>, pieces: &[Piece<'v>]) {
    let mut done: Vec<Open<'v>> = Vec::new();
    let mut open = Open::default();
    let mut at = 0;
    while at < pieces.len() {
        let piece = &pieces[at];
        let named = piece.get(|m| {
            if let Meaning::Block { fore, hind } = m { Some((fore.clone(), hind.clone())) } else { None }
        });
        let named_here = (at..pieces.len())
            .take_while(|&p| names_limb(pieces, p) || (p > at && pieces[p].joins()))
            .count();
        let limbs = (named_here > 0).then(|| Heard::of(&pieces[at..at + named_here]));
        let read_again = open.block.is_some()
            && open.percent.is_some()
            && (is_percent(pieces, at) && !(open.in_words && open.minutes.is_none())
                || change(piece).is_some() && open.minutes.is_some());
        if read_again {
            let (block, limbs) = (open.block.clone(), open.limbs.clone());
            done.push(std::mem::replace(&mut open, Open { block, limbs, ..Open::default() }));
        }
        let starts_anew = open.block.is_some()
            && (named.as_ref().is_some_and(|named| open.block.as_ref() != Some(named) || open.is_answered())
                || (limbs.is_some()
                    && (open.is_answered() || open.limbs.is_some())
                    && names_block(&pieces[at..])));
        if starts_anew {
            let limbs = open.limbs.clone();
            done.push(std::mem::replace(&mut open, Open { limbs, ..Open::default() }));
        }
        let taken = if let Some(named) = named {
            open.block = Some(named);
            1
        } else if let Some(limbs) = limbs {
            if done.is_empty() || starts_anew || open.limbs.is_none() {
                open.limbs = Some(limbs);
            }
            named_here
        } else {
            take(&mut open, pieces, at)
        };
        open.of.extend(pieces[at..at + taken].iter().filter(|piece| !piece.is_break()).cloned());
        at += taken.max(1);
    }
    done.push(open);
    // "tarsometatarsal and tarsocrural joints, left hind": the limb of both.
    for at in (1..done.len()).rev() {
        if done[at - 1].limbs.is_none() && !done[at - 1].is_answered() {
            let (before, from) = done.split_at_mut(at);
            before[at - 1].limbs.clone_from(&from[0].limbs);
        }
    }
    for open in done {
        record(scene, open);
    }
}

/// Whether another block is named before the next answer.
fn names_block(pieces: &[Piece<'_>]) -> bool {
    pieces
        .iter()
        .skip(1)
        .find(|piece| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Block { .. })))
        .is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Block { .. })))
}

/// Takes a number with its unit, or a word for what came of the block; how many pieces were taken.
fn take(open: &mut Open<'_>, pieces: &[Piece<'_>], at: usize) -> usize {
    if let Some(number) = pieces[at].number() {
        let unit = pieces
            .get(at + 1)
            .and_then(|unit| unit.get(|m| if let Meaning::Unit(unit) = m { Some(*unit) } else { None }));
        let slot = match unit {
            Some(Unit::Percent) => &mut open.percent,
            Some(Unit::Minutes) => &mut open.minutes,
            Some(Unit::Hours) => {
                open.minutes = Some(number.value * 60.0);
                return 2;
            }
            Some(Unit::Ml) => &mut open.ml,
            // "no change at 10"
            None if open.percent.is_some()
                && open.minutes.is_none()
                && at > 0
                && pieces[at - 1].is_filler() =>
            {
                open.minutes = Some(number.value);
                return 1;
            }
            _ => return 0,
        };
        *slot = Some(number.value);
        return 2;
    }
    if let Some(change) = change(&pieces[at]) {
        open.in_words |= open.percent.is_none();
        open.percent = open.percent.or(Some(change));
        return 1;
    }
    let known = pieces[at].is(|m| {
        matches!(
            m,
            Meaning::BlockWord
                | Meaning::Improved
                | Meaning::Agent
                | Meaning::PerSite
                | Meaning::Aspect(_)
                | Meaning::Spot { .. }
                | Meaning::Outcome(_)
        )
    });
    usize::from(known || pieces[at].is_filler())
}

fn is_percent(pieces: &[Piece<'_>], at: usize) -> bool {
    let percent = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Unit(Unit::Percent)));
    pieces[at].number().is_some() && pieces.get(at + 1).is_some_and(percent)
}

/// How much better in words: "sound", "no change".
fn change(piece: &Piece<'_>) -> Option<f64> {
    piece.get(|m| match m {
        Meaning::Change(percent) => Some(*percent),
        Meaning::Outcome(Outcome::Negative) => Some(0.0),
        _ => None,
    })
}

fn record<'v>(scene: &mut Scene<'v>, open: Open<'v>) {
    let Some((fore, hind)) = open.block else { return };
    let of_limb = |limb: Limb| if limb.is_fore() { &fore } else { &hind };
    let suits = |limb: Limb| catalogue().block(of_limb(limb)).is_some_and(|block| block.suits(limb));
    let row = |limb: Option<Limb>| Block {
        limb: limb.map(|limb| limb.code().to_owned()),
        block: limb.map_or(&fore, of_limb).clone(),
        improvement_pct: open.percent,
        minutes: open.minutes,
        volume_ml: open.ml,
        text: String::new(),
    };
    let of_trunk = catalogue().block(&fore).is_some_and(|block| block.limbs.is_empty());
    if of_trunk {
        scene.push(Made::Block(row(None)), open.of);
        return;
    }
    let possible = open.limbs.unwrap_or_default().on(&suits, &scene.context.limbs);
    if possible.open || possible.limbs.is_empty() {
        let all = || Limb::ALL.into_iter().filter(|limb| suits(*limb)).collect();
        let open_limbs: Vec<Limb> = if possible.limbs.is_empty() { all() } else { possible.limbs };
        let choices = open_limbs.iter().map(|limb| Choice {
            side: Some(limb.side().code().to_owned()),
            limb: Some(limb.code().to_owned()),
            finding: Some(of_limb(*limb).clone()),
            ..Choice::default()
        });
        let answers = open_limbs.iter().map(|limb| Some(Answer::Block(row(Some(*limb)))));
        let (choices, answers) = (choices.collect(), answers.collect());
        let ask = Ask { question: "Which limb?".into(), choices, answers, ..Ask::default() };
        scene.push(Made::Ask(ask), open.of);
        return;
    }
    scene.context.limbs.clone_from(&possible.limbs);
    for limb in possible.limbs {
        scene.push(Made::Block(row(Some(limb))), open.of.clone());
    }
}
