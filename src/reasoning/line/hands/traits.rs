//! Adjectives that say something of one place only: "flat" of a sole, "loose" of a shoe.

use crate::{catalogue::words::Meaning, reasoning::line::piece::Piece};

/// The pieces, with each such adjective marked where its place was named: before it, or right after it.
pub(super) fn held<'v>(pieces: &[Piece<'v>], carried: Option<String>) -> Vec<Piece<'v>> {
    let mut place = carried;
    let mut out = pieces.to_vec();
    for at in 0..out.len() {
        if let Some(named) = place_of(&out[at]) {
            place = Some(named);
        }
        let before = place.as_deref().and_then(|place| index(&out[at], place));
        out[at].holds = before.or_else(|| {
            let next = out.get(at + 1..)?.iter().find(|piece| !piece.is_filler() && !piece.joins())?;
            index(&out[at], &place_of(next)?)
        });
    }
    out
}

fn place_of(piece: &Piece<'_>) -> Option<String> {
    piece.get(|m| match m {
        Meaning::Spot { spot, .. } => Some(spot.code.clone()),
        Meaning::Pick { spot, .. } => Some(spot.code.clone()),
        _ => None,
    })
}

/// Which of the piece's meanings is said of this place.
fn index(piece: &Piece<'_>, place: &str) -> Option<usize> {
    let own = |says: &Meaning| matches!(says, Meaning::Pick { spot, .. } if spot.code == place);
    let of_place = |m: &Meaning| match m {
        Meaning::Trait { says, of } => own(says) || of.iter().any(|code| code == place),
        _ => false,
    };
    piece.means().iter().position(of_place)
}
