//! Whether one place that was named is a part of another, or only says more exactly where it is.

use std::sync::Arc;

use super::{
    order::{copy_limb, pair, same},
    say::{Say, What},
};
use crate::{catalogue::words::Spot, reasoning::line::place::Phrase};

/// "RF cannon: SDFT mild heat": the heading only tells the limb.
pub(super) fn is_under<'v>(own: &mut Phrase<'v>, head: &Phrase<'v>) -> bool {
    let apart = head.spot.as_ref().zip(own.spot.as_ref()).is_some_and(|(head, own)| !head.meets(own));
    if head.heads && apart {
        if !own.names_limb() {
            copy_limb(own, head);
        }
        own.of.splice(0..0, head.of.iter().cloned());
    }
    head.heads && apart
}

/// A limb of the place that waits, or a part of it.
pub(super) fn is_part<'v>(own: &mut Phrase<'v>, place: &Phrase<'v>) -> bool {
    if own.spot.is_none() && place.spot.is_some() {
        let limb = own.names_limb() && is_pair(place) || is_one_of(own, place);
        if !(place.down || limb || !place.names_limb()) {
            return false;
        }
        // "back: spasm on the left", "hind suspensory branches: LH painful", "from the left knee down, the limb".
        if place.down {
            copy_limb(own, place);
        }
        own.pair = own.pair.or(pair(place)).filter(|_| own.limbs.is_empty());
        own.spot.clone_from(&place.spot);
        own.down = place.down;
    } else if let Some(part) = part_of(own, place) {
        // "RH hock: lateral collateral ligament painful".
        own.spot = Some(part);
        own.aspect = own.aspect.take().or_else(|| place.aspect.clone());
        if !own.names_limb() {
            copy_limb(own, place);
        }
    } else if is_within(own, place) {
        // "LF suspensory: origin painful".
        if !own.names_limb() {
            copy_limb(own, place);
        }
    } else {
        return false;
    }
    own.of.extend(place.of.iter().cloned());
    true
}

/// The part of the waiting place that a word for parts of several places means there.
fn part_of(own: &Phrase<'_>, place: &Phrase<'_>) -> Option<Arc<Spot>> {
    let (part, wide) = (own.spot.as_ref()?, place.spot.as_ref()?);
    let parts = part.breadth() > 1 && part.default.is_empty() && part.flexion.is_none();
    (parts && part.code != wide.code && part.meets(wide)).then(|| Arc::new(part.narrowed(wide)))
}

/// "thoracic back, left longissimus tight": the narrower place stands before the wider one with its side.
pub(super) fn is_said_before<'v>(narrow: &Phrase<'v>, wide: &mut Phrase<'v>) -> bool {
    let before = wide.names_limb() && !narrow.names_limb() && is_within(narrow, wide);
    if before {
        wide.spot.clone_from(&narrow.spot);
        wide.of.extend(narrow.of.iter().cloned());
    }
    before
}

/// "stifle: femoropatellar joint distended"
pub(super) fn is_said_after<'v>(wide: &Phrase<'v>, narrow: &mut Phrase<'v>) -> bool {
    let after = wide.spot.is_some() && narrows(narrow, wide);
    if after {
        if !narrow.names_limb() {
            copy_limb(narrow, wide);
        }
        narrow.of.extend(wide.of.iter().cloned());
    }
    after
}

/// Whether the second are the last of the first.
pub(super) fn ends_same(all: &[Phrase<'_>], last: &[Phrase<'_>]) -> bool {
    all.len().checked_sub(last.len()).is_some_and(|at| same(&all[at..], last))
}

pub(super) fn has_own_spot(say: &Say<'_>) -> bool {
    matches!(say.what, What::Sign { .. } | What::Pick { .. } | What::Measure { .. } | What::Testers(_))
}

/// Whether it would be asked which of the places that a word covers is meant.
pub(super) fn is_open(what: &What, phrase: &Phrase<'_>) -> bool {
    let (What::Finding(code), Some(spot)) = (what, &phrase.spot) else { return false };
    spot.breadth() > 1 && !spot.default.contains_key(code) && !spot.default.contains_key("*")
}

/// Whether `said` only says more exactly where `phrase` is.
pub(super) fn narrows(said: &Phrase<'_>, phrase: &Phrase<'_>) -> bool {
    match (&said.spot, &phrase.spot) {
        (None, _) => {
            let of_pair = !said.limbs.is_empty() && pair(said).is_some() && pair(said) == phrase.pair;
            let pair_alone =
                phrase.limbs.is_empty() && phrase.sides.is_empty() && (!said.sides.is_empty() || of_pair);
            let headed =
                phrase.headed && pair(phrase).is_some() && said.limbs.is_empty() && !said.sides.is_empty();
            let side_alone = phrase.limbs.is_empty() && phrase.pair.is_none() && said.pair.is_some();
            let side_alone = side_alone && said.sides.is_empty();
            said.names_limb() && (!phrase.names_limb() || pair_alone || side_alone || headed)
        }
        (Some(_), Some(_)) => (!said.names_limb() || !phrase.names_limb()) && is_within(said, phrase),
        (Some(_), None) => !said.names_limb() && phrase.names_limb(),
    }
}

/// Whether the place is one of those that the wider word means.
pub(super) fn is_within(narrow: &Phrase<'_>, wide: &Phrase<'_>) -> bool {
    let (Some(narrow), Some(wide)) = (&narrow.spot, &wide.spot) else { return false };
    let within = |a: &[String], b: &[String]| b.is_empty() || a.iter().all(|code| b.contains(code));
    narrow.meets(wide)
        && within(&narrow.fore, &wide.fore)
        && within(&narrow.hind, &wide.hind)
        && within(&narrow.axial, &wide.axial)
        && within(&narrow.foot, &wide.foot)
}

/// Whether the wider place that is named after it only says on which limb it is.
pub(super) fn lies_in(place: &Phrase<'_>, wide: &Phrase<'_>) -> bool {
    let other =
        place.spot.as_ref().zip(wide.spot.as_ref()).is_some_and(|(place, wide)| place.code != wide.code);
    other && wide.names_limb() && !place.names_limb() && is_within(place, wide)
}

pub(super) fn take_over<'v>(phrase: &mut Phrase<'v>, said: &Phrase<'v>) {
    if said.names_limb() {
        let headed = pair(phrase).filter(|_| std::mem::take(&mut phrase.headed));
        let (pair, sides) = (phrase.pair.or(headed), std::mem::take(&mut phrase.sides));
        copy_limb(phrase, said);
        phrase.pair = phrase.pair.or(pair);
        if phrase.sides.is_empty() && phrase.limbs.is_empty() {
            phrase.sides = sides;
        }
    }
    if said.spot.is_some() {
        phrase.spot.clone_from(&said.spot);
        phrase.down = said.down;
    }
    if said.aspect.is_some() {
        phrase.aspect.clone_from(&said.aspect);
    }
    phrase.of.extend(said.of.iter().cloned());
}

/// Whether the limb or side is one of several that the place was named on.
pub(super) fn is_one_of(limb: &Phrase<'_>, place: &Phrase<'_>) -> bool {
    let mut sides: Vec<_> = place.limbs.iter().map(|limb| limb.side()).collect();
    sides.extend(&place.sides);
    sides.len() > 1
        && limb.names_limb()
        && limb.limbs.iter().all(|limb| place.limbs.contains(limb))
        && limb.sides.iter().all(|side| sides.contains(side))
}

/// A pair of limbs at most: neither a side nor one of them.
pub(super) fn is_pair(phrase: &Phrase<'_>) -> bool {
    phrase.limbs.is_empty() && phrase.sides.is_empty()
}
