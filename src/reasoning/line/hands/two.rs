//! What "both", "each", "neither" and "two" speak of: two sides, two branches of one limb, or the two that were named.

use std::ops::Range;

use super::expand::{FILL, WHOLE};
use crate::{
    catalogue::{Side, words::Meaning},
    reasoning::line::piece::{Piece, clause_at},
};

/// "swelling and pain, both 2/3", "knee and fetlock both full": of the two that were named, and of no two sides.
pub(super) fn of_two(pieces: &[Piece<'_>], at: usize) -> Option<&'static [Meaning]> {
    let both = pieces[at].is(|m| matches!(m, Meaning::OfTwo));
    let each = pieces[at].is(|m| matches!(m, Meaning::PerSite));
    let placed = at > 0 && pieces[at - 1].is(|m| matches!(m, Meaning::Preposition));
    if !(both || each) || placed {
        return None;
    }
    let is_grade =
        |piece: &Piece<'_>| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..)));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    let before = pieces[..at].iter().rfind(|piece| !piece.is_filler());
    let grades =
        next.is_some_and(is_grade) || next.is_none_or(Piece::is_break) && before.is_some_and(is_grade);
    if next.is_some_and(|next| {
        next.is_limbish()
            || next.is_spot()
            || next.is(|m| matches!(m, Meaning::Aspect(_) | Meaning::LimbWord | Meaning::Sign { .. }))
    }) {
        return None;
    }
    let named = named_before(pieces, at);
    let two = if each {
        grades && named.findings > 1
    } else {
        named.sides == 1 || named.sides == 0 && named.places > 1 || named.findings > 1 && grades
    };
    two.then_some(if grades { &WHOLE } else { &FILL })
}

/// What the clause names, with the one before it where it names no place itself.
pub(super) fn named_before(pieces: &[Piece<'_>], at: usize) -> Named {
    let place = |piece: &Piece<'_>| {
        piece.is_spot() || piece.is(|m| matches!(m, Meaning::Sign { or_place: true, .. }))
    };
    let found =
        |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Trait { .. }));
    let Range { mut start, end } = clause_at(pieces, at);
    let mut sides_from = start;
    if !pieces[start..at].iter().any(place) && start > 0 && !pieces[start - 1].is_stop() {
        start = clause_at(pieces, start - 1).start;
        sides_from = pieces[..at].iter().rposition(Piece::is_stop).map_or(0, |stop| stop + 1);
    }
    let count = |wanted: &dyn Fn(&Piece<'_>) -> bool, range: &[Piece<'_>]| {
        range.iter().filter(|piece| wanted(piece)).count()
    };
    Named {
        places: count(&place, &pieces[start..at]),
        sides: [Side::L, Side::R]
            .into_iter()
            .filter(|one| pieces[sides_from..end].iter().any(|piece| piece.side_of_limb() == Some(*one)))
            .count(),
        findings: count(&found, &pieces[start..at]),
    }
}

/// How many of each were named.
pub(super) struct Named {
    places: usize,
    sides: usize,
    findings: usize,
}

/// "effusion in each knee": on either side.
pub(super) fn is_each(pieces: &[Piece<'_>], at: usize) -> bool {
    let each = pieces[at].is(|m| matches!(m, Meaning::PerSite)) && !pieces[at].is_limbish();
    each && pieces.get(at + 1).is_some_and(Piece::is_spot) && !pieces[..at].iter().any(Piece::is_limbish)
}

/// "two capped hocks": where no limb was named, one on either side.
pub(super) fn is_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let two = pieces[at].number().is_some_and(|number| {
        let bare = number.of.is_none() && !number.plus;
        bare && (number.value - 2.0).abs() < f64::EPSILON
    });
    let several =
        |m: &Meaning| matches!(m, Meaning::Spot { plural: true, .. } | Meaning::Sign { plural: true, .. });
    two && pieces.get(at + 1).is_some_and(|next| next.is(several)) && !pieces.iter().any(Piece::is_limbish)
}

/// "left hind suspensory, both branches": there are two of them on each limb.
pub(super) fn is_both_of_one_limb(pieces: &[Piece<'_>], at: usize) -> bool {
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
pub(super) fn is_neither_of_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let neither =
        pieces[at].is(|m| matches!(m, Meaning::Them)) && pieces[at].is(|m| matches!(m, Meaning::Not));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    neither
        && next.is_some_and(|next| {
            next.is_spot() || next.is(|m| matches!(m, Meaning::Pair(_) | Meaning::LimbWord))
        })
}
