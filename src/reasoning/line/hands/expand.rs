//! Words that say two things, or what another word said: "both" of the two branches of one limb, "neither" of a pair,
//! "there" of a site.

use std::sync::LazyLock;

use super::two::{is_both_of_one_limb, is_each, is_neither_of_two, is_two, of_two};
use crate::{
    catalogue::{Limb, Side, words::Meaning},
    reasoning::line::piece::{Look, Piece, Sense, clause_at},
};

static NOT: [Meaning; 1] = [Meaning::Not];
static BOTH: [Meaning; 1] = [Meaning::BothSides];
static SAME: [Meaning; 1] = [Meaning::Same];
static OR: [Meaning; 1] = [Meaning::Or];
pub(super) static WHOLE: [Meaning; 1] = [Meaning::Whole];
pub(super) static FILL: [Meaning; 1] = [Meaning::Fill];
static AND: [Meaning; 1] = [Meaning::And];
static LEFT: [Meaning; 1] = [Meaning::Side(Side::L)];
static RIGHT: [Meaning; 1] = [Meaning::Side(Side::R)];
static LIMBS: LazyLock<[[Meaning; 1]; 4]> =
    LazyLock::new(|| Limb::ALL.map(|limb| [Meaning::Limbs(vec![limb])]));
static MEDIAL: LazyLock<[Meaning; 1]> = LazyLock::new(|| [Meaning::Aspect("medial".to_owned())]);
static LATERAL: LazyLock<[Meaning; 1]> = LazyLock::new(|| [Meaning::Aspect("lateral".to_owned())]);

/// The pieces, with each such word as what it says; every part of it keeps the word's place in the line.
pub(super) fn expanded<'v>(pieces: &[Piece<'v>]) -> Vec<Piece<'v>> {
    let mut out = Vec::with_capacity(pieces.len());
    for (at, piece) in pieces.iter().enumerate() {
        if is_just(pieces, at) {
            out.push(Piece { sense: Sense::Means(&FILL), ..piece.clone() });
            continue;
        }
        if is_also(pieces, at) {
            out.push(Piece { sense: Sense::Means(&SAME), ..piece.clone() });
            continue;
        }
        if is_listed_with_or(pieces, at) {
            out.push(Piece { sense: Sense::Means(&OR), ..piece.clone() });
            continue;
        }
        if let Some(others) = others(pieces, at) {
            out.push(Piece { sense: Sense::Limbs(others), ..piece.clone() });
            continue;
        }
        let says: Vec<&'static [Meaning]> = if is_both_of_one_limb(pieces, at) {
            vec![&*MEDIAL, &AND, &*LATERAL]
        } else if is_neither_of_two(pieces, at) {
            vec![&NOT, &BOTH]
        } else if let Some(two) = of_two(pieces, at) {
            vec![two]
        } else if is_two(pieces, at) || is_each(pieces, at) {
            vec![&BOTH]
        } else if let Some(other) = other(pieces, at) {
            vec![other]
        } else {
            out.push(at_that_site(pieces, at).unwrap_or_else(|| piece.clone()));
            continue;
        };
        let one = |means| Piece { sense: Sense::Means(means), look: Look::Plain, ..piece.clone() };
        out.extend(says.into_iter().map(one));
    }
    out
}

/// "the other": opposite the one limb or side that was named last.
fn other(pieces: &[Piece<'_>], at: usize) -> Option<&'static [Meaning]> {
    pieces[at].is(|m| matches!(m, Meaning::Other)).then_some(())?;
    let last = pieces[..at].iter().rev().find(|piece| piece.is_limbish())?;
    if let Some(limbs) = last.limbs() {
        let [limb] = limbs else { return None };
        let at = Limb::ALL.iter().position(|one| *one == limb.other())?;
        return LIMBS.get(at).map(<[Meaning; 1]>::as_slice);
    }
    match last.get(|m| if let Meaning::Side(side) = m { Some(*side) } else { None })? {
        Side::L => Some(&RIGHT),
        Side::R => Some(&LEFT),
        Side::M => None,
    }
}

/// "left hock swollen right on the point": no side, where one was named before.
fn is_just(pieces: &[Piece<'_>], at: usize) -> bool {
    let right = pieces[at].is(|m| matches!(m, Meaning::Side(Side::R)));
    let leads = pieces.get(at + 1).is_some_and(|next| next.is(|m| matches!(m, Meaning::Preposition)));
    let said =
        |m: &Meaning| matches!(m, Meaning::Finding { .. } | Meaning::Grade(..) | Meaning::Trait { .. });
    let follows = at > 0 && (pieces[at - 1].is(said) || pieces[at - 1].number().is_some());
    let start = pieces[..at].iter().rposition(Piece::is_stop).map_or(0, |stop| stop + 1);
    right && leads && follows && pieces[start..at].iter().any(|piece| piece.side_of_limb().is_some())
}

/// "left biceps sore, left elbow too": the clause says nothing of its own.
fn is_also(pieces: &[Piece<'_>], at: usize) -> bool {
    if !pieces[at].is(|m| matches!(m, Meaning::Also)) {
        return false;
    }
    let clause = clause_at(pieces, at);
    let place = |piece: &Piece<'_>| piece.is_spot() || piece.is_limbish();
    let mere = |piece: &Piece<'_>| {
        place(piece)
            || piece.is_filler()
            || piece.joins()
            || piece.is(|m| matches!(m, Meaning::Also | Meaning::Aspect(_) | Meaning::WeakSide(_)))
    };
    clause.start > 0 && pieces[clause.clone()].iter().any(place) && pieces[clause].iter().all(mere)
}

/// "not sore, hot, swollen or thickened": a comma in a list of adjectives that ends with "or".
fn is_listed_with_or(pieces: &[Piece<'_>], at: usize) -> bool {
    let adjective = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { says_so: true, .. }));
    let comma = |piece: &Piece<'_>| matches!(piece.sense, Sense::Pause) && piece.look != Look::Heading;
    if !comma(&pieces[at]) {
        return false;
    }
    let mut after = pieces[at + 1..].iter().filter(|piece| !piece.is_filler());
    let ends = loop {
        match (after.next(), after.next()) {
            (Some(one), Some(or)) if adjective(one) && or.is(|m| matches!(m, Meaning::Or)) => {
                break after.next().is_some_and(adjective);
            }
            (Some(one), Some(next)) if adjective(one) && comma(next) => {}
            _ => break false,
        }
    };
    let before = pieces[..at].iter().rev().take_while(|piece| !piece.is_break() || comma(piece));
    let listed = before.take_while(|piece| {
        piece.is_filler()
            || adjective(piece)
            || comma(piece)
            || piece.is(|m| matches!(m, Meaning::Not | Meaning::Lacks(_)))
    });
    ends && listed.clone().any(|piece| piece.is(|m| matches!(m, Meaning::Not | Meaning::Lacks(_))))
}

/// "pulse bounding right fore, others normal": the limbs that were not named before.
fn others(pieces: &[Piece<'_>], at: usize) -> Option<Vec<Limb>> {
    pieces[at].is(|m| matches!(m, Meaning::Others)).then_some(())?;
    let named: Vec<Limb> = pieces[..at].iter().filter_map(Piece::limbs).flatten().copied().collect();
    let others: Vec<Limb> = Limb::ALL.into_iter().filter(|limb| !named.contains(limb)).collect();
    (!named.is_empty() && !others.is_empty()).then_some(others)
}

/// "corn on the inside heel, sore to the testers there": the site that was named before.
fn at_that_site<'v>(pieces: &[Piece<'v>], at: usize) -> Option<Piece<'v>> {
    let piece = pieces[at].is(|m| matches!(m, Meaning::There)).then_some(&pieces[at])?;
    let clause = pieces[..at].iter().rev().take_while(|piece| !piece.is_break());
    let mut clause = clause.chain(pieces[at..].iter().take_while(|piece| !piece.is_break()));
    if !clause.any(|piece| piece.is(|m| matches!(m, Meaning::Testers(_)))) {
        return None;
    }
    let site = |piece: &Piece<'v>| piece.means().iter().position(|m| matches!(m, Meaning::TesterSite(_)));
    let means = pieces[..at].iter().rev().find_map(|piece| Some(&piece.means()[site(piece)?]))?;
    Some(Piece { sense: Sense::Means(std::slice::from_ref(means)), ..piece.clone() })
}
