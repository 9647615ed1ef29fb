//! Words that are a pair of limbs, and a direction where a place was named: "in front", "behind", "all round".

use crate::{
    catalogue::{
        Pair,
        words::{Meaning, Spot},
    },
    reasoning::line::piece::{Piece, Sense},
};

/// Where a limb or a place was named before, "at the front" is no pair, and "all round" no limbs.
pub(super) fn one_sense(pieces: &mut [Piece<'_>], at: usize, named: bool, place: Option<&Spot>) {
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    let leads = next.is_some_and(|next| next.is_spot() || next.is_limbish());
    // "stifle swollen in front": of a joint that only hind limbs have.
    let limbs = place.map(Spot::limbs).unwrap_or_default();
    let hind = !limbs.is_empty() && !limbs.iter().any(|limb| limb.is_fore());
    let front = hind && pieces[at].is(|m| matches!(m, Meaning::Pair(Pair::Fore)));
    // "both ankles front"
    let both = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::BothSides));
    let before = pieces[..at].iter().rev().filter(|piece| !piece.is_filler()).take(2).collect::<Vec<_>>();
    if matches!(before.as_slice(), [spot, sides] if spot.is_spot() && both(sides)) {
        return;
    }
    if !named || !pieces[at].is_limbish() || leads || !(front || is_aspect_here(pieces, at)) {
        return;
    }
    let other = |m: &Meaning| matches!(m, Meaning::Aspect(_) | Meaning::Quality);
    let means = pieces[at].means();
    if let Some(index) = means.iter().position(other) {
        pieces[at].sense = Sense::Means(&means[index..=index]);
    }
}

/// "laceration in front, left hind cannon": "in front" and "behind" are a direction only on one limb that was named,
/// right after what was found there; elsewhere they are a pair.
fn is_aspect_here(pieces: &[Piece<'_>], at: usize) -> bool {
    if !pieces[at].is(|m| matches!(m, Meaning::Preposition)) {
        return true;
    }
    let limb = pieces[..at].iter().rev().find(|piece| piece.is_limbish());
    let single =
        limb.is_some_and(|piece| piece.limbs().is_some_and(|limbs| limbs.len() == 1) || is_direction(piece));
    let before = pieces[..at].iter().rev().find(|piece| !piece.is_filler() && !piece.joins());
    let nothing = |m: &Meaning| matches!(m, Meaning::Nad | Meaning::Absent | Meaning::Not);
    single
        && !before.is_some_and(|piece| piece.is(nothing))
        && before.is_some_and(|piece| is_found(piece) || is_direction(piece) || piece.is_spot())
}

fn is_found(piece: &Piece<'_>) -> bool {
    let says = |m: &Meaning| {
        matches!(
            m,
            Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Grade(..) | Meaning::Trait { .. }
        )
    };
    piece.is(says) || piece.number().is_some()
}

fn is_direction(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Aspect(_)))
}
