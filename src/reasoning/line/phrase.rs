//! Places as they are said: the words for limb, side, place and direction that stand together.

use std::{cmp::Ordering, sync::Arc};

use super::{
    piece::{Look, Piece},
    place::{Phrase, pair_of},
};
use crate::catalogue::{
    Pair, Side, catalogue,
    words::{Meaning, Spot},
};

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

/// A list shares the limb that one of its places was given.
pub(super) fn share_limbs(mut phrases: Vec<Phrase<'_>>) -> Vec<Phrase<'_>> {
    let order: Vec<usize> = (1..phrases.len()).collect();
    for &index in &order {
        share_pair(&mut phrases, index);
    }
    for &index in &order {
        copy_limb(&mut phrases, index - 1, index);
    }
    for &index in order.iter().rev() {
        // "the poll and the left jaw": the side stands before the second alone.
        if phrases[index - 1].spot.is_none() || !leads_with_limb(&phrases[index]) {
            copy_limb(&mut phrases, index, index - 1);
        }
    }
    for &index in &order {
        // "medial and lateral suspensory branches", "the branch medially and laterally".
        let (before, own) = (phrases[index - 1].spot.clone(), phrases[index].spot.clone());
        match (before, own) {
            (None, Some(own)) if phrases[index - 1].aspect.is_some() => {
                let aspect = phrases[index - 1].aspect.clone().unwrap_or_default();
                phrases[index - 1].spot = Some(beside(&own, &aspect).unwrap_or(own));
            }
            (Some(before), None) if phrases[index].aspect.is_some() => phrases[index].spot = Some(before),
            _ => {}
        }
    }
    phrases
}

/// The wider word that the direction picks a place of, where the other place is one of its own: "dorsal and palmar
/// fetlock".
fn beside(own: &Spot, aspect: &str) -> Option<Arc<Spot>> {
    let spots = &catalogue().words.spots;
    let wide = spots.iter().find(|wide| {
        own.breadth() == 1 && wide.aspect.contains_key(aspect) && wide.breadth() > 1 && wide.meets(own)
    })?;
    Some(Arc::new(wide.clone()))
}

/// "the left coffin joint or fetlock in front": the side is that of both, and so is the pair.
fn share_pair(phrases: &mut [Phrase<'_>], index: usize) {
    let (before, own) = (&phrases[index - 1], &phrases[index]);
    let leads = before.limbs.is_empty() && before.pair.is_none() && !before.sides.is_empty();
    let paired = own.limbs.is_empty() && own.sides.is_empty() && own.spot.is_some();
    let trails = own.of.last().is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Pair(_))));
    if let Some(pair) = own.pair.filter(|_| leads && paired && trails) {
        let sides = phrases[index - 1].sides.clone();
        phrases[index].sides = sides;
        phrases[index - 1].pair = Some(pair);
    }
}

pub(super) fn copy_limb(phrases: &mut [Phrase<'_>], from: usize, to: usize) {
    if !phrases[to].names_limb() && phrases[from].names_limb() {
        let (limbs, sides, pair) =
            (phrases[from].limbs.clone(), phrases[from].sides.clone(), phrases[from].pair);
        (phrases[to].limbs, phrases[to].sides, phrases[to].pair) = (limbs, sides, pair);
    }
}

/// Whether the limb or side stands before the place.
fn leads_with_limb(phrase: &Phrase<'_>) -> bool {
    let limb = phrase.of.iter().position(Piece::is_limbish);
    let spot = phrase.of.iter().position(Piece::is_spot);
    matches!((limb, spot), (Some(limb), Some(spot)) if limb < spot)
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
            let side = piece.get(|m| match m {
                Meaning::Side(side) | Meaning::WeakSide(side) => Some(vec![*side]),
                Meaning::BothSides => Some(vec![Side::L, Side::R]),
                _ => None,
            });
            let Some(sides) = side else { return false };
            if !self.open.sides.is_empty() && !joined {
                return false;
            }
            self.open.sides.extend(sides);
        }
        self.keep(piece)
    }
}

impl PhraseReader<'_, '_> {
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
        let other = piece.get(|m| match m {
            Meaning::Side(side) | Meaning::WeakSide(side) => Some(*side),
            _ => None,
        })?;
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
        let side = |m: &Meaning| match m {
            Meaning::Side(side) | Meaning::WeakSide(side) => Some(*side),
            _ => None,
        };
        piece.get(side).filter(|_| placed)
    }

    /// "both coffin joints of the forelimbs": the sides stand before the place, the pair after it.
    pub(super) fn says_which_pair(&mut self, piece: &Piece<'_>) -> bool {
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
