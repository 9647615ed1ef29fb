//! Words that mean something of one place only: "flat" of a sole, "loose" of a shoe, "origin" of a suspensory.

use std::sync::Arc;

use crate::{
    catalogue::{
        Pair, Side, catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::{
        piece::{Piece, Sense},
        signs::ABSENT,
    },
};

use super::{expand, pairs};

/// The pieces, with each such adjective marked where its place was named: before it, or right after it.
pub(super) fn held<'v>(pieces: &[Piece<'v>], carried: Option<Arc<Spot>>) -> Vec<Piece<'v>> {
    let mut place = carried;
    let mut named = false;
    let mut lump = false;
    let mut bends = false;
    let mut ranges = false;
    let mut moves = false;
    let mut out = pairs::untwisted(expand::expanded(pieces));
    for at in 0..out.len() {
        one_sense(&mut out, at, named, place.as_deref());
        named |= out[at].limbs().is_some() || out[at].is_spot();
        let limbed = place.as_ref().is_some_and(|place| !place.limbs().is_empty());
        let leads = out[at + 1..].iter().find(|piece| !piece.is_filler()).is_some_and(Piece::is_spot);
        if limbed && !leads && out[at].is(|m| matches!(m, Meaning::Side(Side::M))) {
            // "coronary band sore in the middle"
            out[at].sense = Sense::Means(&WITHIN);
            continue;
        }
        if let Some(sense) = quarter(&out, at, place.as_deref()) {
            out[at].sense = sense;
        }
        if is_landmark(&out, at) || is_along(&out, at) {
            out[at].sense = Sense::Means(&PART);
            continue;
        }
        if is_distance(&out, at) {
            out[at].sense = Sense::Means(&PART);
        }
        if place.as_ref().is_some_and(|place| is_part_there(&out[at], place)) {
            out[at].sense = Sense::Means(&PART);
            continue;
        }
        if let Some(named) = place_of(&out[at]) {
            place = Some(named);
            // "swelling of the left jaw, soft"
            let of_it = |piece: &&Piece<'_>| !piece.is_break() && !piece.is(is_lump);
            let before = out[..at].iter().rev().take_while(of_it);
            lump &= before.clone().any(|piece| piece.is(|m| matches!(m, Meaning::Preposition)))
                && out.get(at.wrapping_sub(before.count() + 1)).is_some_and(|piece| piece.is(is_lump));
        }
        lump |= out[at].is(is_lump);
        // "heat none" of a shoe is no shoe that is none.
        let denies = at > 0
            && out[at].is(|m| matches!(m, Meaning::Absent))
            && out[at - 1].is(|m| matches!(m, Meaning::Finding { .. }));
        bends |= out[at].is(|m| matches!(m, Meaning::Bends));
        moves = moves_here(&out[at]) || moves && !ends_movement(&out[at]);
        if let Some(says) = bent(&out[at]).filter(|_| moves || bends_next(&out, at)) {
            out[at].sense = Sense::Means(std::slice::from_ref(says));
            continue;
        }
        if ranges && out[at].is(is_full) && !out[at].is(|m| matches!(m, Meaning::Finding { .. })) {
            // "knee flexion reduced on the right, full on the left"
            out[at].sense = Sense::Means(&ABSENT);
            continue;
        }
        ranges |= out[at].is(|m| matches!(m, Meaning::Finding { code, .. } if code == "ROMR"));
        if is_of_next(&out, at) || lump && out[at].is(is_spasm) || bends && out[at].is(is_full) {
            // "firm scar tissue", "swollen, 5 cm, hard": of the lump, and no spasm; "range of motion full": no effusion.
            continue;
        }
        if let Some(tendon) = tendon_of_limb(&out, at) {
            hold(&mut out[at], Some(tendon));
            continue;
        }
        let before = place.as_ref().filter(|_| !denies).and_then(|place| index(&out[at], place));
        let holds = before.or_else(|| {
            // "pulled the near fore shoe"; "off" is the side there.
            let side = out[at].is(|m| matches!(m, Meaning::WeakSide(_)));
            // "RF upright, heels low": it means nothing else.
            let only = out[at].means().iter().all(|m| matches!(m, Meaning::Trait { .. }));
            // "tight, sore left gluteals"
            let comma = out.get(at + 1).is_some_and(|piece| matches!(piece.sense, Sense::Pause));
            let next = out.get(at + 2).filter(|_| comma);
            let listed =
                next.is_some_and(|next| next.is(|m| matches!(m, Meaning::Finding { says_so: true, .. })));
            let adjective =
                |m: &Meaning| matches!(m, Meaning::Finding { says_so: true, .. } | Meaning::Grade(..));
            let passes = |piece: &&Piece<'_>| {
                piece.is_filler()
                    || piece.joins()
                    || piece.is(adjective)
                    || piece.number().is_some()
                    || !side && (piece.is_limbish() || piece.is(|m| matches!(m, Meaning::WeakSide(_))))
                    || (only || listed) && matches!(piece.sense, Sense::Pause)
            };
            let next = out.get(at + 1..)?.iter().find(|piece| !passes(piece))?;
            index(&out[at], place_of(next)?.as_ref())
        });
        hold(&mut out[at], holds);
    }
    out
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

/// Where a limb or a place was named before, "at the front" is no pair, and "all round" no limbs.
fn one_sense(pieces: &mut [Piece<'_>], at: usize, named: bool, place: Option<&Spot>) {
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    let leads = next.is_some_and(|next| next.is_spot() || next.is_limbish());
    // "stifle swollen in front": of a joint that only hind limbs have.
    let limbs = place.map(Spot::limbs).unwrap_or_default();
    let hind = !limbs.is_empty() && !limbs.iter().any(|limb| limb.is_fore());
    let front = hind && pieces[at].is(|m| matches!(m, Meaning::Pair(Pair::Fore)));
    if !named || !pieces[at].is_limbish() || leads || !(front || is_aspect_here(pieces, at)) {
        return;
    }
    let other = |m: &Meaning| matches!(m, Meaning::Aspect(_) | Meaning::Quality);
    let means = pieces[at].means();
    if let Some(index) = means.iter().position(other) {
        pieces[at].sense = Sense::Means(&means[index..=index]);
    }
}

/// "laceration in front, left hind cannon": "in front" and "behind" are a direction only on one limb that was named,
/// right after what was found there; elsewhere they are a pair.
fn is_aspect_here(pieces: &[Piece<'_>], at: usize) -> bool {
    if !pieces[at].is(|m| matches!(m, Meaning::Preposition)) {
        return true;
    }
    let limb = pieces[..at].iter().rev().find(|piece| piece.is_limbish());
    let single =
        limb.is_some_and(|piece| piece.limbs().is_some_and(|limbs| limbs.len() == 1) || is_direction(piece));
    let before = pieces[..at].iter().rev().find(|piece| !piece.is_filler() && !piece.joins());
    let nothing = |m: &Meaning| matches!(m, Meaning::Nad | Meaning::Absent | Meaning::Not);
    single
        && !before.is_some_and(|piece| piece.is(nothing))
        && before.is_some_and(|piece| is_found(piece) || is_direction(piece) || piece.is_spot())
}

fn is_found(piece: &Piece<'_>) -> bool {
    let says = |m: &Meaning| {
        matches!(
            m,
            Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Grade(..) | Meaning::Trait { .. }
        )
    };
    piece.is(says) || piece.number().is_some()
}

fn is_direction(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Aspect(_)))
}

fn place_of(piece: &Piece<'_>) -> Option<Arc<Spot>> {
    piece.get(|m| match m {
        Meaning::Spot { spot, .. } | Meaning::Pick { spot, .. } => Some(Arc::clone(spot)),
        _ => None,
    })
}

/// "the range there is reduced": what it says of a movement.
fn bent<'v>(piece: &Piece<'v>) -> Option<&'v Meaning> {
    piece.get(|m| if let Meaning::Bent(says) = m { Some(says.as_ref()) } else { None })
}

fn moves_here(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Bends | Meaning::FlexionWord))
}

/// "poor lumbar flexion": the movement is named after its place.
fn bends_next(pieces: &[Piece<'_>], at: usize) -> bool {
    let passes = |piece: &&Piece<'_>| piece.is_filler() || piece.is_spot() || piece.is_limbish();
    pieces[at + 1..].iter().find(|piece| !passes(piece)).is_some_and(moves_here)
}

/// Something else was found since, or the sentence ends; that it hurts is said of the movement too.
fn ends_movement(piece: &Piece<'_>) -> bool {
    piece.is_stop()
        || piece.is(|m| match m {
            Meaning::Finding { code, .. } => !["PAIN", "ROMP", "ROMR"].contains(&code.as_str()),
            Meaning::Sign { .. } | Meaning::Pick { .. } => true,
            _ => false,
        })
}

/// "coronet swollen, lateral quarter": a stretch of the place that was named, and no place of its own.
fn is_part_there(piece: &Piece<'_>, place: &Spot) -> bool {
    let stretch = |m: &Meaning| matches!(m, Meaning::Spot { spot, .. } if spot.stretch && !spot.foot.is_empty() && !place.meets(spot));
    let sided = |code: &String| catalogue().region(code).is_some_and(|region| region.aspects && region.sweep);
    matches!(place.foot.as_slice(), [code] if sided(code)) && piece.is(stretch)
}

/// A word for a part of the foot and of the horse, "quarter": the horse's where neither a foot, a limb nor a direction
/// stands beside it.
fn quarter<'v>(pieces: &[Piece<'v>], at: usize, place: Option<&Spot>) -> Option<Sense<'v>> {
    let means = pieces[at].means();
    let spot =
        |m: &Meaning, foot: bool| matches!(m, Meaning::Spot { spot, .. } if spot.foot.is_empty() != foot);
    let (hoof, horse) =
        (means.iter().position(|m| spot(m, true))?, means.iter().position(|m| spot(m, false))?);
    let start = pieces[..at].iter().rposition(Piece::is_break).map_or(0, |before| before + 1);
    let end = pieces[at..].iter().position(Piece::is_break).map_or(pieces.len(), |length| at + length);
    let tells = |piece: &Piece<'_>| {
        piece.limbs().is_some()
            || piece.is(|m| matches!(m, Meaning::Aspect(_) | Meaning::Pair(_)))
            || piece.is(|m| matches!(m, Meaning::Spot { spot, .. } if !spot.foot.is_empty()))
                && !piece.is(|m| spot(m, false))
    };
    let foot = place.is_some_and(|place| !place.foot.is_empty()) || pieces[start..end].iter().any(tells);
    let kept = if foot { hoof } else { horse };
    Some(Sense::Means(&means[kept..=kept]))
}

/// "above the fetlock the superficial is thick": it only says where the other place is.
fn is_landmark(pieces: &[Piece<'_>], at: usize) -> bool {
    let off = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Beyond));
    let passes = |piece: &&Piece<'_>| off(piece) || !piece.is_filler() && !piece.is_limbish();
    let beyond = pieces[..at].iter().rev().find(passes);
    let beyond = pieces[at].is_spot() && beyond.is_some_and(off);
    let other = |piece: &Piece<'_>| piece.is_spot() && piece.from != pieces[at].from;
    let start = pieces[..at].iter().rposition(Piece::is_break).map_or(0, |before| before + 1);
    let end = pieces[at..].iter().position(Piece::is_break).map_or(pieces.len(), |length| at + length);
    beyond && pieces[start..end].iter().any(other)
}

/// "deep flexor tendon painful in the cannon region": the stretch in which the place before it lies.
fn is_along(pieces: &[Piece<'_>], at: usize) -> bool {
    let stretch =
        |m: &Meaning| matches!(m, Meaning::Spot { spot, .. } if spot.stretch && spot.foot.is_empty());
    let start = pieces[..at].iter().rposition(Piece::is_break).map_or(0, |before| before + 1);
    let placed = pieces[..at].last().is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Preposition)));
    let other = |piece: &Piece<'_>| {
        piece.is(|m| matches!(m, Meaning::Spot { spot, .. } if !spot.stretch && !spot.limbs().is_empty()))
    };
    placed && pieces[at].is(stretch) && pieces[start..at].iter().any(other)
}

/// "12 cm below the carpus": how far off, and no size.
fn is_distance(pieces: &[Piece<'_>], at: usize) -> bool {
    let beyond = |at: usize| pieces.get(at).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Beyond)));
    let unit = |at: usize| pieces.get(at).is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Unit(_))));
    pieces[at].number().is_some() && unit(at + 1) && beyond(at + 2) || unit(at) && beyond(at + 1)
}

static WITHIN: [Meaning; 1] = [Meaning::Preposition];
static PART: [Meaning; 1] = [Meaning::Quality];

/// "firm scar tissue": an adjective of the finding, and none by itself.
fn is_of_next(pieces: &[Piece<'_>], at: usize) -> bool {
    let noun = |m: &Meaning| matches!(m, Meaning::Finding { says_so: false, .. });
    let says =
        |m: &Meaning| matches!(m, Meaning::Trait { says, .. } if matches!(**says, Meaning::Finding { .. }));
    // "small puncture wound" of a frog: no frog that is small.
    let sized = pieces[at].is(|m| matches!(m, Meaning::Grade(..)))
        && pieces[at].is(|m| matches!(m, Meaning::Trait { .. }));
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
