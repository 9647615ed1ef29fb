//! The limbs named beside a test or a block: in one word, or as a side and a pair ("left hock flexion").

use super::piece::{Look, Piece};
use crate::catalogue::{Limb, Pair, Side, words::Meaning};

/// What was heard of a limb.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Heard {
    limbs: Vec<Limb>,
    sides: Vec<Side>,
    pair: Option<Pair>,
}

/// The limbs that may be meant.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Possible {
    pub limbs: Vec<Limb>,
    /// Fewer than these are meant: it has to be asked which.
    pub open: bool,
}

/// Whether the piece at `at` names a limb or a side here.
pub(super) fn names_limb(pieces: &[Piece<'_>], at: usize) -> bool {
    let piece = &pieces[at];
    let weak = piece.is(|m| matches!(m, Meaning::WeakSide(_)));
    let placed = pieces.get(at + 1).is_some_and(|next| {
        next.is_spot()
            || next.is(|m| {
                matches!(
                    m,
                    Meaning::Flexion { .. }
                        | Meaning::FlexionLevel { .. }
                        | Meaning::Block { .. }
                        | Meaning::Pair(_)
                )
            })
    });
    piece.is_limbish() || (weak && (matches!(piece.look, Look::Capital | Look::Paired) || placed))
}

impl Heard {
    pub(super) fn of(pieces: &[Piece<'_>]) -> Self {
        let mut heard = Self::default();
        let mut both = false;
        for piece in pieces {
            if let Some(limbs) = piece.limbs() {
                heard.limbs.extend(limbs);
            } else if let Some(pair) =
                piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None })
            {
                heard.pair = Some(pair);
                // "flexion in front": of both
                both |= piece.is(|m| matches!(m, Meaning::Preposition));
            } else if let Some(sides) = piece.get(sides) {
                heard.sides.extend(sides);
            }
        }
        if both && heard.limbs.is_empty() && heard.sides.is_empty() {
            heard.sides = vec![Side::L, Side::R];
        }
        heard
    }

    /// One limb or side.
    pub(super) fn is_one(&self) -> bool {
        self.limbs.len() + self.sides.len() == 1
    }

    /// A side alone is on the pair that was named before: "hind fetlock flexion, left mild".
    pub(super) fn within(mut self, before: Option<&Self>) -> Self {
        if self.limbs.is_empty() && self.pair.is_none() && !self.sides.is_empty() {
            let fore = |limb: &Limb| limb.is_fore();
            self.pair = before.and_then(|before| match before.limbs.as_slice() {
                [] => before.pair,
                limbs if limbs.iter().all(fore) => Some(Pair::Fore),
                limbs if !limbs.iter().any(fore) => Some(Pair::Hind),
                _ => None,
            });
        }
        self
    }

    /// The limbs meant, of those that suit; without a side, those of `carried` of the same pair.
    pub(super) fn on(&self, suits: &dyn Fn(Limb) -> bool, carried: &[Limb]) -> Possible {
        if !self.limbs.is_empty() {
            let limbs = self.limbs.iter().copied().filter(|limb| suits(*limb)).collect();
            return Possible { limbs, open: false };
        }
        let of_pair = |limb: &Limb| self.pair.is_none_or(|pair| limb.is_fore() == (pair == Pair::Fore));
        if self.sides.is_empty() {
            let carried: Vec<Limb> =
                carried.iter().copied().filter(|limb| suits(*limb) && of_pair(limb)).collect();
            let all = Limb::ALL.into_iter().filter(|limb| suits(*limb) && of_pair(limb));
            let open = carried.is_empty();
            return Possible { limbs: if open { all.collect() } else { carried }, open };
        }
        let limbs: Vec<Limb> = Limb::ALL
            .into_iter()
            .filter(|limb| suits(*limb) && of_pair(limb) && self.sides.contains(&limb.side()))
            .collect();
        let open = limbs.len() > self.sides.len();
        Possible { limbs, open }
    }
}

fn sides(m: &Meaning) -> Option<Vec<Side>> {
    match m {
        Meaning::Side(side) | Meaning::WeakSide(side) => Some(vec![*side]),
        Meaning::BothSides => Some(vec![Side::L, Side::R]),
        _ => None,
    }
}
