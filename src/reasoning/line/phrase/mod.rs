//! Places as they are said: the words for limb, side, place and direction that stand together.

mod limbs;
mod share;

use std::{cmp::Ordering, sync::Arc};

use self::share::share_limbs;
use super::{
    piece::{Look, Piece},
    place::{Phrase, pair_of},
};
use crate::catalogue::words::{Meaning, Spot};

/// Reads the places said from `at` on; several when they were joined.
pub(super) fn phrases<'v>(
    pieces: &[Piece<'v>],
    at: usize,
    tells: &Tells,
) -> Option<(Vec<Phrase<'v>>, usize)> {
    if !tells.begins(pieces, at) {
        return None;
    }
    let mut reader =
        PhraseReader { pieces, tells, done: Vec::new(), open: Phrase::default(), part: false, at };
    while reader.step() {}
    let end = reader.at;
    reader.done.push(reader.open);
    Some((share_limbs(reader.done), end))
}

/// What decides whether a word with two faces is a place in this clause.
pub(super) struct Tells {
    /// Hoof testers are spoken of: "toe" and "frog" are their sites.
    pub testers: bool,
    /// "splint" and "curb" name the place, because something else is found there.
    pub dual_is_place: bool,
}

impl Tells {
    /// The spot a piece names here.
    pub(super) fn spot(&self, piece: &Piece<'_>) -> Option<(Arc<Spot>, bool)> {
        if self.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return None;
        }
        piece.get(|m| match m {
            Meaning::Spot { spot, plural } => Some((Arc::clone(spot), *plural)),
            Meaning::Sign { spot, or_place: true, plural, .. } if self.dual_is_place => {
                Some((Arc::clone(spot), *plural))
            }
            _ => None,
        })
    }

    pub(super) fn names(&self, piece: &Piece<'_>) -> bool {
        piece.is_limbish() || self.spot(piece).is_some()
    }

    /// Whether a place begins here.
    pub(super) fn begins(&self, pieces: &[Piece<'_>], at: usize) -> bool {
        let Some(piece) = pieces.get(at) else { return false };
        if self.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return false;
        }
        let aspect = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Aspect(_)));
        let leads = aspect(piece) || piece.is(|m| matches!(m, Meaning::WeakSide(_)));
        let mut last = at;
        while let Some([and, other]) = pieces.get(last + 1..last + 3)
            && and.joins()
            && aspect(other)
        {
            last += 2;
        }
        let letter = matches!(piece.look, Look::Capital | Look::Paired)
            && piece.is(|m| matches!(m, Meaning::WeakSide(_)));
        // "near foot hot"
        let weak = piece.is(|m| matches!(m, Meaning::WeakSide(_)));
        let sign = |next: &Piece<'_>| next.is(|m| matches!(m, Meaning::Sign { .. }));
        let letter = letter || weak && pieces.get(at + 1).is_some_and(sign);
        self.names(piece) || letter || (leads && self.next(pieces, last + 1).is_some())
    }

    /// The next piece that belongs to a place, past small words.
    pub(super) fn next(&self, pieces: &[Piece<'_>], at: usize) -> Option<usize> {
        let next = (at..pieces.len()).find(|&next| !pieces[next].is_filler())?;
        let belongs = self.names(&pieces[next])
            || (pieces[next].is(|m| matches!(m, Meaning::Aspect(_) | Meaning::WeakSide(_)))
                && !(self.testers && pieces[next].is(|m| matches!(m, Meaning::TesterSite(_)))));
        belongs.then_some(next)
    }
}

struct PhraseReader<'a, 'v> {
    pieces: &'a [Piece<'v>],
    tells: &'a Tells,
    done: Vec<Phrase<'v>>,
    open: Phrase<'v>,
    /// "the flexor tendons of": what follows only says where they lie.
    part: bool,
    at: usize,
}

impl<'v> PhraseReader<'_, 'v> {
    /// Takes one piece; false where the place ends.
    pub(super) fn step(&mut self) -> bool {
        let Some(piece) = self.pieces.get(self.at) else { return false };
        if self.take(piece, false) {
            self.at += 1;
            return true;
        }
        if piece.is_filler()
            && let Some(next) = self.tells.next(self.pieces, self.at + 1)
        {
            let next_piece = &self.pieces[next];
            self.part |= self.open.spot.is_some() && piece.is(|m| matches!(m, Meaning::Preposition));
            if self.take(next_piece, false) {
                self.open.of.extend(self.pieces[self.at..next].iter().cloned());
                self.at = next + 1;
                return true;
            }
        }
        if piece.joins()
            && let Some(next) = self.tells.next(self.pieces, self.at + 1)
        {
            let next_piece = &self.pieces[next];
            if self.take(next_piece, true) {
                self.at = next + 1;
                return true;
            }
        }
        false
    }

    /// Whether the piece goes into the open place, or begins the next of a list.
    pub(super) fn take(&mut self, piece: &Piece<'v>, joined: bool) -> bool {
        if self.tells.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return false;
        }
        if let Some((spot, plural)) = self.tells.spot(piece) {
            // "forefoot"
            let pair = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None });
            let taken = self.take_spot(spot, plural, piece, joined);
            self.open.pair = self.open.pair.or(pair.filter(|_| taken && self.open.limbs.is_empty()));
            return taken;
        }
        if piece.is_limbish() || piece.is(|m| matches!(m, Meaning::WeakSide(_))) {
            return self.take_limb(piece, joined);
        }
        let on_limbs = self.open.spot.as_ref().is_some_and(|spot| !spot.limbs().is_empty());
        if piece.is(|m| matches!(m, Meaning::Down)) && on_limbs {
            self.open.down = true;
            return self.keep(piece);
        }
        let Some(aspect) =
            piece.get(|m| if let Meaning::Aspect(aspect) = m { Some(aspect.clone()) } else { None })
        else {
            return piece.is(|m| matches!(m, Meaning::LimbWord)) && self.keep(piece);
        };
        if self.open.aspect.is_some() {
            if !joined {
                return false;
            }
            self.begin_next();
        }
        self.open.aspect = Some(aspect);
        self.keep(piece)
    }

    pub(super) fn keep(&mut self, piece: &Piece<'v>) -> bool {
        self.open.of.push(piece.clone());
        true
    }

    pub(super) fn begin_next(&mut self) {
        let done = std::mem::take(&mut self.open);
        self.done.push(done);
    }

    pub(super) fn take_spot(
        &mut self,
        spot: Arc<Spot>,
        plural: bool,
        piece: &Piece<'v>,
        joined: bool,
    ) -> bool {
        if joined && self.open.spot.is_none() && self.open.aspect.is_some() && spot.breadth() == 1 {
            // "dorsal and palmar fetlock"
            self.begin_next();
        }
        let Some(before) = self.open.spot.clone() else {
            self.open.spot = Some(spot);
            self.open.plural |= plural;
            return self.keep(piece);
        };
        if before.code == spot.code {
            return self.keep(piece);
        }
        let of_limb = self.open.names_limb() && !before.limbs().is_empty() && before.axial.is_empty();
        if let Some(direction) = spot.beside.as_ref().filter(|_| of_limb && !joined) {
            // "RF knee back sore"
            self.open.aspect.get_or_insert_with(|| direction.clone());
            return self.keep(piece);
        }
        let of_foot = !before.foot.is_empty() || !spot.foot.is_empty();
        // Side by side: the narrower word says which place the wider one means.
        let narrowed = match before.breadth().cmp(&spot.breadth()) {
            _ if joined || !(of_foot || before.meets(&spot)) => None,
            Ordering::Greater => Some(spot.narrowed(&before)),
            Ordering::Less => Some(before.narrowed(&spot)),
            Ordering::Equal => None,
        };
        if let Some(narrowed) = narrowed {
            self.open.spot = Some(Arc::new(narrowed));
            return self.keep(piece);
        }
        if of_foot && before.stretch && !joined {
            // "lateral quarter of the coronet"
            self.open.spot = Some(spot);
            return self.keep(piece);
        }
        if of_foot && !joined {
            return false;
        }
        if spot.stretch && !joined && before.on_both_pairs() {
            // "DDFT LF cannon sore"
            return self.keep(piece);
        }
        if self.part && !joined {
            // "the superficial flexor tendon of the left metacarpus": of a fore limb.
            let pairs = spot.limbs().iter().map(|limb| pair_of(*limb)).collect::<Vec<_>>();
            let pair = pairs.first().copied().filter(|pair| pairs.iter().all(|other| other == pair));
            self.open.pair =
                self.open.pair.or(pair.filter(|_| self.open.limbs.is_empty() && before.on_both_pairs()));
            return self.keep(piece);
        }
        // "SDFT DDFT thick": a list, with or without a word between.
        self.begin_next();
        self.open.spot = Some(spot);
        self.open.plural = plural;
        self.keep(piece)
    }
}
