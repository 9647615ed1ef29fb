//! The limbs, pairs and sides of a place that is being read.

use super::PhraseReader;
use crate::{
    catalogue::{Pair, Side, words::Meaning},
    reasoning::line::{
        piece::Piece,
        place::{Phrase, pair_of},
    },
};

impl<'v> PhraseReader<'_, 'v> {
    /// A limb, a pair or a side: of the open place, or of the next of a list.
    pub(super) fn take_limb(&mut self, piece: &Piece<'v>, joined: bool) -> bool {
        if self.says_which_pair(piece) {
            return self.keep(piece);
        }
        if !joined && self.is_front(piece) {
            self.open.aspect.get_or_insert("cranial".to_owned());
            return self.keep(piece);
        }
        let both = piece.is(|m| matches!(m, Meaning::BothSides));
        if both && !joined && self.is_of_two() {
            return self.keep(piece);
        }
        if both && self.open.pair.is_some() && self.open.sides.is_empty() {
            // "fore tendons both"
            self.open.sides = vec![Side::L, Side::R];
            return self.keep(piece);
        }
        if let Some(side) = self.side_after(piece).filter(|_| !joined) {
            self.open.sides = vec![side];
            return self.keep(piece);
        }
        if let Some(other) = self.other_side(piece).filter(|_| joined) {
            // "tarsocrural L and R"
            self.open.sides.push(other);
            return self.keep(piece);
        }
        let open = &self.open;
        if open.spot.is_some() && (open.names_limb() || joined) {
            if !joined {
                return false;
            }
            self.begin_next();
        } else if !open.limbs.is_empty() && !joined {
            if piece.limbs().is_some() && open.spot.is_none() && !self.pieces[self.at - 1].is_break() {
                // "LF RF LH RH feet"
                let limbs = piece.limbs().unwrap_or_default().to_vec();
                self.open.limbs.extend(limbs);
                return self.keep(piece);
            }
            // "RH hind fetlock"
            let pair = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None });
            let same = pair.is_some_and(|pair| open.limbs.iter().all(|limb| pair_of(*limb) == pair));
            return same && self.keep(piece);
        }
        self.add_limb(piece, joined)
    }

    /// A limb, pair or side of the place that is open.
    fn add_limb(&mut self, piece: &Piece<'v>, joined: bool) -> bool {
        if let Some(limbs) = piece.limbs() {
            let pair = matches!(limbs, [one, other] if one.other() == *other);
            if pair && self.open.sides.len() == 2 && self.open.spot.is_none() {
                // "bilaterally in the fronts"
                self.open.sides.clear();
            }
            if !self.open.sides.is_empty() && !joined {
                return false;
            }
            self.open.limbs.extend(limbs.iter().copied());
        } else if let Some(pair) = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None })
        {
            self.open.pair = Some(pair);
            // "unshod behind"
            self.open.plural |= piece.is(|m| matches!(m, Meaning::Preposition));
        } else {
            let both = piece.is(|m| matches!(m, Meaning::BothSides)).then(|| vec![Side::L, Side::R]);
            let sides = piece.side().map(|side| vec![side]).or(both);
            let Some(sides) = sides else { return false };
            if !self.open.sides.is_empty() && !joined {
                return false;
            }
            self.open.sides.extend(sides);
        }
        self.keep(piece)
    }

    /// "his back legs are both filled", "LF fetlock and RF fetlock both warm"; "right supraspinatus and infraspinatus
    /// both wasted".
    fn is_of_two(&self) -> bool {
        let open = &self.open;
        let spots = open.of.iter().filter(|piece| piece.is_spot()).count();
        let two_of_one = spots > 1 && open.limbs.len() + open.sides.len() == 1;
        open.limbs.len() > 1 || self.done.iter().any(Phrase::names_limb) || two_of_one
    }

    /// The side that joins that of the open place.
    fn other_side(&self, piece: &Piece<'_>) -> Option<Side> {
        let other = piece.side()?;
        let open = &self.open;
        let joins = matches!(open.sides.as_slice(), [side] if *side != other);
        (joins && open.spot.is_some() && open.limbs.is_empty() && !self.leads_on(piece)).then_some(other)
    }

    /// Whether a place of its own stands after this side: "fetlock left and right knee".
    fn leads_on(&self, piece: &Piece<'_>) -> bool {
        let next = self.pieces.iter().find(|next| next.from > piece.from && !next.is_filler());
        next.is_some_and(|next| next.is_spot() || next.is_limbish())
    }

    /// "right stifle in front": the front of a place that only hind limbs have.
    fn is_front(&self, piece: &Piece<'_>) -> bool {
        let limbs = self.open.spot.as_ref().map(|spot| spot.limbs()).unwrap_or_default();
        let hind = !limbs.is_empty() && !limbs.iter().any(|limb| limb.is_fore());
        hind && piece.is(|m| matches!(m, Meaning::Pair(Pair::Fore)))
    }

    /// "hindlimb proximal suspensory ligament right"
    fn side_after(&self, piece: &Piece<'_>) -> Option<Side> {
        let open = &self.open;
        let pair_alone = open.pair.is_some() && open.sides.is_empty() && open.limbs.is_empty();
        let placed = pair_alone && open.spot.is_some() && !open.plural;
        piece.side().filter(|_| placed)
    }

    /// "both coffin joints of the forelimbs": the sides stand before the place, the pair after it.
    fn says_which_pair(&mut self, piece: &Piece<'_>) -> bool {
        let open = &mut self.open;
        if open.spot.is_none() || open.sides.is_empty() || !open.limbs.is_empty() || open.pair.is_some() {
            return false;
        }
        let pair = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None });
        let limbs = piece.limbs().unwrap_or_default();
        let fits =
            limbs.len() == open.sides.len() && limbs.iter().all(|limb| open.sides.contains(&limb.side()));
        let of_limbs = limbs.first().filter(|_| fits).map(|limb| pair_of(*limb));
        open.pair = pair.or(of_limbs.filter(|pair| limbs.iter().all(|limb| pair_of(*limb) == *pair)));
        open.pair.is_some()
    }
}
