//! Words that say two things, or what another word said: "both" of the two branches of one limb, "neither" of a pair,
//! "there" of a site.

use std::sync::LazyLock;

use crate::{
    catalogue::{Limb, Side, words::Meaning},
    reasoning::line::piece::{Look, Piece, Sense},
};

static NOT: [Meaning; 1] = [Meaning::Not];
static BOTH: [Meaning; 1] = [Meaning::BothSides];
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
        let says: Vec<&'static [Meaning]> = if is_both_of_one_limb(pieces, at) {
            vec![&*MEDIAL, &AND, &*LATERAL]
        } else if is_neither_of_two(pieces, at) {
            vec![&NOT, &BOTH]
        } else if is_two(pieces, at) {
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

/// "left hind suspensory, both branches": there are two of them on each limb.
fn is_both_of_one_limb(pieces: &[Piece<'_>], at: usize) -> bool {
    let both =
        pieces[at].is(|m| matches!(m, Meaning::BothSides)) && !pieces[at].is(|m| matches!(m, Meaning::Them));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    if !both || !next.is_some_and(|next| next.is(|m| matches!(m, Meaning::Twin))) {
        return false;
    }
    let limb = |piece: &&Piece<'_>| piece.is_limbish();
    let named = pieces[..at].iter().rev().find(limb).or_else(|| pieces[at + 1..].iter().find(limb));
    named.and_then(Piece::limbs).is_some_and(|limbs| limbs.len() == 1)
}

/// "neither hock is warm"
fn is_neither_of_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let neither =
        pieces[at].is(|m| matches!(m, Meaning::Them)) && pieces[at].is(|m| matches!(m, Meaning::Not));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    neither
        && next.is_some_and(|next| {
            next.is_spot() || next.is(|m| matches!(m, Meaning::Pair(_) | Meaning::LimbWord))
        })
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

/// "two capped hocks": where no limb was named, one on either side.
fn is_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let two = pieces[at].number().is_some_and(|number| {
        let bare = number.of.is_none() && !number.plus;
        bare && (number.value - 2.0).abs() < f64::EPSILON
    });
    let several =
        |m: &Meaning| matches!(m, Meaning::Spot { plural: true, .. } | Meaning::Sign { plural: true, .. });
    two && pieces.get(at + 1).is_some_and(|next| next.is(several)) && !pieces.iter().any(Piece::is_limbish)
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
