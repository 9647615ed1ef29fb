//! Adjectives that say something of one place only: "flat" of a sole, "loose" of a shoe.

use std::sync::Arc;

use crate::{
    catalogue::words::{Meaning, Spot},
    reasoning::line::piece::{Piece, Sense},
};

/// The pieces, with each such adjective marked where its place was named: before it, or right after it.
pub(super) fn held<'v>(pieces: &[Piece<'v>], carried: Option<Arc<Spot>>) -> Vec<Piece<'v>> {
    let mut place = carried;
    let mut limbed = false;
    let mut out = pieces.to_vec();
    for at in 0..out.len() {
        // "RF pastern ... at the front": the limb was named, so that it is no pair.
        let aspect = out[at].means().iter().position(|m| matches!(m, Meaning::Aspect(_)));
        if let Some(aspect) = aspect.filter(|_| limbed && out[at].is_limbish()) {
            out[at].sense = Sense::Means(&out[at].means()[aspect..]);
        }
        limbed |= out[at].limbs().is_some();
        if let Some(named) = place_of(&out[at]) {
            place = Some(named);
        }
        let before = place.as_ref().and_then(|place| index(&out[at], place));
        out[at].holds = before.or_else(|| {
            // "pulled the near fore shoe"; "off" is the side there.
            let side = out[at].is(|m| matches!(m, Meaning::WeakSide(_)));
            let passes =
                |piece: &&Piece<'_>| piece.is_filler() || piece.joins() || !side && piece.is_limbish();
            let next = out.get(at + 1..)?.iter().find(|piece| !passes(piece))?;
            index(&out[at], place_of(next)?.as_ref())
        });
    }
    out
}

fn place_of(piece: &Piece<'_>) -> Option<Arc<Spot>> {
    piece.get(|m| match m {
        Meaning::Spot { spot, .. } | Meaning::Pick { spot, .. } => Some(Arc::clone(spot)),
        _ => None,
    })
}

/// Which of the piece's meanings is said of this place.
fn index(piece: &Piece<'_>, place: &Spot) -> Option<usize> {
    let own = |says: &Meaning| matches!(says, Meaning::Pick { spot, .. } if place.foot.contains(&spot.code));
    let of_place = |m: &Meaning| match m {
        Meaning::Trait { says, of } => own(says) || of.contains(&place.code),
        _ => false,
    };
    piece.means().iter().position(of_place)
}
