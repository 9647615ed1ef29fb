//! A movement that is spoken of, and what is said of it: "the range there is reduced", "poor lumbar flexion".

use crate::{catalogue::words::Meaning, reasoning::line::piece::Piece};

/// "the range there is reduced": what it says of a movement.
pub(super) fn bent<'v>(piece: &Piece<'v>) -> Option<&'v Meaning> {
    piece.get(|m| if let Meaning::Bent(says) = m { Some(says.as_ref()) } else { None })
}

pub(super) fn moves_here(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Bends | Meaning::FlexionWord))
}

/// "poor lumbar flexion": the movement is named after its place.
pub(super) fn bends_next(pieces: &[Piece<'_>], at: usize) -> bool {
    let passes = |piece: &&Piece<'_>| piece.is_filler() || piece.is_spot() || piece.is_limbish();
    pieces[at + 1..].iter().find(|piece| !passes(piece)).is_some_and(moves_here)
}

/// Something else was found since, or the sentence ends; that it hurts is said of the movement too.
pub(super) fn ends_movement(piece: &Piece<'_>) -> bool {
    piece.is_stop()
        || piece.is(|m| match m {
            Meaning::Finding { code, .. } => !["PAIN", "ROMP", "ROMR"].contains(&code.as_str()),
            Meaning::Sign { .. } | Meaning::Pick { .. } => true,
            _ => false,
        })
}
