//! Words that mean something of one place only: "flat" of a sole, "loose" of a shoe, "origin" of a suspensory.

use std::sync::Arc;

use crate::{
    catalogue::words::{Meaning, Spot},
    reasoning::line::{
        piece::{Piece, Sense},
        signs::ABSENT,
    },
};

use super::{
    expand,
    movement::{bends_next, bent, ends_movement, moves_here},
    pairs,
    senses::one_sense,
    stretch::{only_where, quarter},
};

/// The pieces, with each such adjective marked where its place was named: before it, or right after it.
pub(super) fn held<'v>(pieces: &[Piece<'v>], carried: Option<Arc<Spot>>) -> Vec<Piece<'v>> {
    let out = pairs::untwisted(expand::expanded(pieces));
    let mut holder = Holder { out, place: carried, ..Holder::default() };
    for at in 0..holder.out.len() {
        holder.step(at);
    }
    holder.out
}

/// Goes from piece to piece with what was spoken of last.
#[derive(Default)]
#[expect(clippy::struct_excessive_bools, reason = "five independent things that may have been spoken of")]
struct Holder<'v> {
    out: Vec<Piece<'v>>,
    place: Option<Arc<Spot>>,
    /// A limb or a place.
    named: bool,
    /// A swelling, of which "hard" and "tight" are said.
    lump: bool,
    /// A joint that is bent by hand.
    bends: bool,
    /// A range of movement.
    ranges: bool,
    /// A movement, and nothing else since.
    moves: bool,
}

impl<'v> Holder<'v> {
    fn step(&mut self, at: usize) {
        one_sense(&mut self.out, at, self.named, self.place.as_deref());
        self.named |= self.out[at].limbs().is_some() || self.out[at].is_spot();
        if let Some(sense) = quarter(&self.out, at, self.place.as_deref()) {
            self.out[at].sense = sense;
        }
        if let Some(sense) = only_where(&self.out, at, self.place.as_deref()) {
            self.out[at].sense = sense;
            return;
        }
        self.follow(at);
        if let Some(sense) = self.of_movement(at) {
            self.out[at].sense = sense;
            return;
        }
        let out = &self.out;
        self.ranges |= out[at].is(|m| matches!(m, Meaning::Finding { code, .. } if code == "ROMR"));
        if is_of_next(out, at) || self.lump && out[at].is(is_spasm) || self.bends && out[at].is(is_full) {
            // "firm scar tissue", "swollen, 5 cm, hard": of the lump, and no spasm; "range of motion full": no effusion.
            return;
        }
        let holds =
            tendon_of_limb(out, at).or_else(|| self.of_place_before(at)).or_else(|| of_place_after(out, at));
        hold(&mut self.out[at], holds);
    }

    /// Keeps what the piece speaks of.
    fn follow(&mut self, at: usize) {
        let out = &self.out;
        if let Some(named) = place_of(&out[at]) {
            self.place = Some(named);
            // "swelling of the left jaw, soft"
            let of_it = |piece: &&Piece<'_>| !piece.is_break() && !piece.is(is_lump);
            let before = out[..at].iter().rev().take_while(of_it);
            self.lump &= before.clone().any(|piece| piece.is(|m| matches!(m, Meaning::Preposition)))
                && out.get(at.wrapping_sub(before.count() + 1)).is_some_and(|piece| piece.is(is_lump));
        }
        self.lump |= out[at].is(is_lump);
        self.bends |= out[at].is(|m| matches!(m, Meaning::Bends));
        self.moves = moves_here(&out[at]) || self.moves && !ends_movement(&out[at]);
    }

    /// What the piece says of a movement.
    fn of_movement(&self, at: usize) -> Option<Sense<'v>> {
        let piece = &self.out[at];
        if let Some(says) = bent(piece).filter(|_| self.moves || bends_next(&self.out, at)) {
            return Some(Sense::Means(std::slice::from_ref(says)));
        }
        // "knee flexion reduced on the right, full on the left"
        let other = |m: &Meaning| matches!(m, Meaning::Finding { .. }) || is_spasm(m);
        let full = piece.is(is_full) && !piece.is(other);
        (self.ranges && full).then_some(Sense::Means(&ABSENT))
    }

    /// What the piece says of the place that was named before it.
    fn of_place_before(&self, at: usize) -> Option<usize> {
        // "heat none" of a shoe is no shoe that is none.
        let denies = at > 0
            && self.out[at].is(|m| matches!(m, Meaning::Absent))
            && self.out[at - 1].is(|m| matches!(m, Meaning::Finding { .. }));
        let place = self.place.as_ref().filter(|_| !denies)?;
        index(&self.out[at], place)
    }
}

/// What the piece says of a place that is named right after it.
fn of_place_after(pieces: &[Piece<'_>], at: usize) -> Option<usize> {
    // "pulled the near fore shoe"; "off" is the side there.
    let side = pieces[at].is(|m| matches!(m, Meaning::WeakSide(_)));
    // "RF upright, heels low": it means nothing else.
    let only = pieces[at].means().iter().all(|m| matches!(m, Meaning::Trait { .. }));
    let adjective = |m: &Meaning| matches!(m, Meaning::Finding { says_so: true, .. });
    // "tight, sore left gluteals"
    let comma = pieces.get(at + 1).is_some_and(|piece| matches!(piece.sense, Sense::Pause));
    let listed = comma && pieces.get(at + 2).is_some_and(|piece| piece.is(adjective));
    let passes = |piece: &&Piece<'_>| {
        piece.is_filler()
            || piece.joins()
            || piece.is(adjective)
            || piece.is(|m| matches!(m, Meaning::Grade(..)))
            || piece.number().is_some()
            || !side && (piece.is_limbish() || piece.is(|m| matches!(m, Meaning::WeakSide(_))))
            || (only || listed) && matches!(piece.sense, Sense::Pause)
    };
    let next = pieces.get(at + 1..)?.iter().find(|piece| !passes(piece))?;
    index(&pieces[at], place_of(next)?.as_ref())
}

/// Of a wider place, the word may name a part: "suspensory: origin sore", "hock, the point of it".
fn hold(piece: &mut Piece<'_>, holds: Option<usize>) {
    let part = holds.and_then(|index| piece.means().get(index)).and_then(|m| match m {
        Meaning::Trait { says, .. } if matches!(**says, Meaning::Spot { .. }) => Some(says.as_ref()),
        _ => None,
    });
    match (part, holds) {
        (Some(part), _) => piece.sense = Sense::Means(std::slice::from_ref(part)),
        (None, Some(index)) if piece.is_spot() => {
            // "coronet dips": no joint of that name.
            let means = piece.means();
            piece.sense = Sense::Means(&means[index..=index]);
            piece.holds = Some(0);
        }
        (None, _) => piece.holds = holds,
    }
}

/// "near fore superficial hot": the tendon, where nothing else is named that is superficial.
fn tendon_of_limb(pieces: &[Piece<'_>], at: usize) -> Option<usize> {
    let tendon = |m: &Meaning| matches!(m, Meaning::Trait { says, of } if matches!(**says, Meaning::Spot { .. }) && of.iter().any(|code| code == "flexors"));
    let index = pieces[at].means().iter().position(tendon)?;
    let says = |piece: &&Piece<'_>| !piece.is_filler() && !matches!(piece.sense, Sense::Pause);
    let limb = pieces[..at].iter().rev().find(says)?;
    let limb = limb.limbs().is_some() || limb.is(|m| matches!(m, Meaning::Pair(_)));
    let noun = |m: &Meaning| {
        matches!(m, Meaning::Finding { says_so: false, .. } | Meaning::Spot { .. } | Meaning::Sign { .. })
    };
    let next = pieces[at + 1..].iter().find(says)?;
    let apart = pieces.get(at + 1).is_some_and(|piece| matches!(piece.sense, Sense::Pause));
    (limb && (apart || !next.is(noun) && !next.is_limbish())).then_some(index)
}

fn place_of(piece: &Piece<'_>) -> Option<Arc<Spot>> {
    piece.get(|m| match m {
        Meaning::Spot { spot, .. } | Meaning::Pick { spot, .. } => Some(Arc::clone(spot)),
        _ => None,
    })
}

/// "firm scar tissue": an adjective of the finding, and none by itself.
fn is_of_next(pieces: &[Piece<'_>], at: usize) -> bool {
    let noun = |m: &Meaning| matches!(m, Meaning::Finding { says_so: false, .. });
    let says =
        |m: &Meaning| matches!(m, Meaning::Trait { says, .. } if matches!(**says, Meaning::Finding { .. }));
    // "small puncture wound" of a frog: no frog that is small.
    let sized = pieces[at].is(|m| matches!(m, Meaning::Grade(..)))
        && pieces[at].is(|m| matches!(m, Meaning::Trait { .. }));
    // "hard with scar tissue", "hard and fibrotic"
    let between = |piece: &&Piece<'_>| {
        piece.is_filler() || piece.joins() || piece.is(|m| matches!(m, Meaning::With | Meaning::Quality))
    };
    let scarred = |m: &Meaning| matches!(m, Meaning::Finding { code, .. } if code == "FIBR");
    let after = pieces[at + 1..].iter().find(|piece| !between(piece));
    if pieces[at].is(is_spasm) && after.is_some_and(|after| after.is(scarred)) {
        return true;
    }
    (sized || pieces[at].is(says)) && pieces.get(at + 1).is_some_and(|next| next.is(noun))
}

fn is_lump(m: &Meaning) -> bool {
    let (codes, nouns) = (["SWEL", "BONY", "EFF", "OEDM"], ["SCAR", "FIBR"]);
    matches!(m, Meaning::Finding { code, says_so } if codes.contains(&code.as_str())
        || !says_so && nouns.contains(&code.as_str()))
}

fn is_spasm(m: &Meaning) -> bool {
    let says = if let Meaning::Trait { says, .. } = m { says.as_ref() } else { return false };
    matches!(says, Meaning::Finding { code, .. } | Meaning::Lacks(code) if code == "SPAS")
}

fn is_full(m: &Meaning) -> bool {
    matches!(m, Meaning::Trait { says, .. } if matches!(says.as_ref(), Meaning::Finding { code, .. } if code == "EFF"))
}

/// Whether all regions of the place are among these.
fn all_of(place: &Spot, of: &[String]) -> bool {
    let mut regions = place.fore.iter().chain(&place.hind).chain(&place.axial).chain(&place.foot);
    regions.all(|region| of.contains(region))
}

/// Which of the piece's meanings is said of this place.
fn index(piece: &Piece<'_>, place: &Spot) -> Option<usize> {
    // "foot good" says nothing of its frog.
    let part = place.foot.len() > 1;
    let own = |says: &Meaning| matches!(says, Meaning::Pick { spot, normal, .. } if place.foot.contains(&spot.code) && !(part && *normal));
    let of_place = |m: &Meaning| match m {
        Meaning::Trait { says, of } => own(says) || of.contains(&place.code) || all_of(place, of),
        _ => false,
    };
    // What is said of the place itself goes before what is said of a part of it.
    let named = |m: &Meaning| matches!(m, Meaning::Trait { of, .. } if of.contains(&place.code));
    let means = piece.means();
    means.iter().position(named).or_else(|| means.iter().position(of_place))
}
