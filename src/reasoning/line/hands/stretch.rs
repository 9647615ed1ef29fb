//! Places that only say where another place lies, or how far off: "12 cm below the carpus", "coronet, lateral quarter".

use crate::{
    catalogue::{
        Side, catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::piece::{Piece, Sense, clause_at},
};

/// What the piece is instead, where it names no place of its own. `place`: the one that was named before it.
pub(super) fn only_where<'v>(pieces: &[Piece<'v>], at: usize, place: Option<&Spot>) -> Option<Sense<'v>> {
    let limbed = place.is_some_and(|place| !place.limbs().is_empty());
    let leads = pieces[at + 1..].iter().find(|piece| !piece.is_filler()).is_some_and(Piece::is_spot);
    if limbed && !leads && pieces[at].is(|m| matches!(m, Meaning::Side(Side::M))) {
        // "coronary band sore in the middle"
        return Some(Sense::Means(&WITHIN));
    }
    let there = place.is_some_and(|place| is_part_there(&pieces[at], place));
    let where_ = is_landmark(pieces, at) || is_along(pieces, at, place) || is_distance(pieces, at) || there;
    where_.then_some(Sense::Means(&PART))
}

/// "coronet swollen, lateral quarter": a stretch of the place that was named, and no place of its own.
fn is_part_there(piece: &Piece<'_>, place: &Spot) -> bool {
    let stretch = |m: &Meaning| matches!(m, Meaning::Spot { spot, .. } if spot.stretch && !spot.foot.is_empty() && !place.meets(spot));
    let sided = |code: &String| catalogue().region(code).is_some_and(|region| region.aspects && region.sweep);
    matches!(place.foot.as_slice(), [code] if sided(code)) && piece.is(stretch)
}

/// A word for a part of the foot and of the horse, "quarter": the horse's where neither a foot, a limb nor a direction
/// stands beside it.
pub(super) fn quarter<'v>(pieces: &[Piece<'v>], at: usize, place: Option<&Spot>) -> Option<Sense<'v>> {
    let means = pieces[at].means();
    let spot =
        |m: &Meaning, foot: bool| matches!(m, Meaning::Spot { spot, .. } if spot.foot.is_empty() != foot);
    let (hoof, horse) =
        (means.iter().position(|m| spot(m, true))?, means.iter().position(|m| spot(m, false))?);
    let tells = |piece: &Piece<'_>| {
        piece.limbs().is_some()
            || piece.is(|m| matches!(m, Meaning::Aspect(_) | Meaning::Pair(_)))
            || piece.is(|m| matches!(m, Meaning::Spot { spot, .. } if !spot.foot.is_empty()))
                && !piece.is(|m| spot(m, false))
    };
    let foot =
        place.is_some_and(|place| !place.foot.is_empty()) || pieces[clause_at(pieces, at)].iter().any(tells);
    let kept = if foot { hoof } else { horse };
    Some(Sense::Means(&means[kept..=kept]))
}

/// "above the fetlock the superficial is thick": it only says where the other place is.
fn is_landmark(pieces: &[Piece<'_>], at: usize) -> bool {
    let off = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Beyond));
    let passes = |piece: &&Piece<'_>| off(piece) || !piece.is_filler() && !piece.is_limbish();
    let beyond = pieces[..at].iter().rev().find(passes);
    let beyond = pieces[at].is_spot() && beyond.is_some_and(off);
    let sign = |m: &Meaning| matches!(m, Meaning::Sign { or_place: true, .. });
    let other = |piece: &Piece<'_>| (piece.is_spot() || piece.is(sign)) && piece.from != pieces[at].from;
    beyond && pieces[clause_at(pieces, at)].iter().any(other)
}

/// "deep flexor tendon painful in the cannon region", "SDFT, thick halfway down the cannon": the stretch in which the
/// place before it lies.
fn is_along(pieces: &[Piece<'_>], at: usize, place: Option<&Spot>) -> bool {
    let start = clause_at(pieces, at).start;
    let passes = |piece: &&Piece<'_>| {
        piece.is_filler() || piece.is_limbish() || piece.is(|m| matches!(m, Meaning::Partway))
    };
    let before: Vec<&Piece<'_>> = pieces[start..at].iter().rev().take_while(passes).collect();
    let partway = before.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Partway)));
    let placed =
        partway || pieces[..at].last().is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Preposition)));
    let along = place.is_some_and(|place| !place.stretch && !place.limbs().is_empty());
    let other = |piece: &Piece<'_>| {
        piece.is(|m| matches!(m, Meaning::Spot { spot, .. } if !spot.stretch && !spot.limbs().is_empty()))
    };
    // "oedema of the fetlock and a wound on the cannon" speaks of both.
    let mut beside = pieces[start..at].iter().rev().take_while(|piece| !piece.joins());
    let stretch = |m: &Meaning| matches!(m, Meaning::Spot { spot, .. } if (spot.stretch || partway) && spot.foot.is_empty());
    placed && pieces[at].is(stretch) && (beside.any(other) || partway && along)
}

/// "12 cm below the carpus": how far off, and no size.
fn is_distance(pieces: &[Piece<'_>], at: usize) -> bool {
    let beyond = |at: usize| pieces.get(at).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Beyond)));
    let unit = |at: usize| pieces.get(at).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Unit(_))));
    pieces[at].number().is_some() && unit(at + 1) && beyond(at + 2) || unit(at) && beyond(at + 1)
}

static WITHIN: [Meaning; 1] = [Meaning::Preposition];

static PART: [Meaning; 1] = [Meaning::Quality];
