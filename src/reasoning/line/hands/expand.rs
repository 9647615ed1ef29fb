//! Words that say two things, or what another word said: "both" of the two branches of one limb, "neither" of a pair,
//! "there" of a site.

use std::sync::LazyLock;

use crate::{
    catalogue::{Limb, Side, words::Meaning},
    reasoning::line::piece::{Look, Piece, Sense},
};

static NOT: [Meaning; 1] = [Meaning::Not];
static BOTH: [Meaning; 1] = [Meaning::BothSides];
static SAME: [Meaning; 1] = [Meaning::Same];
static OR: [Meaning; 1] = [Meaning::Or];
static WHOLE: [Meaning; 1] = [Meaning::Whole];
static FILL: [Meaning; 1] = [Meaning::Fill];
static AND: [Meaning; 1] = [Meaning::And];
static LEFT: [Meaning; 1] = [Meaning::Side(Side::L)];
static RIGHT: [Meaning; 1] = [Meaning::Side(Side::R)];
static LIMBS: LazyLock<[[Meaning; 1]; 4]> =
    LazyLock::new(|| Limb::ALL.map(|limb| [Meaning::Limbs(vec![limb])]));
static MEDIAL: LazyLock<[Meaning; 1]> = LazyLock::new(|| [Meaning::Aspect("medial".to_owned())]);
static LATERAL: LazyLock<[Meaning; 1]> = LazyLock::new(|| [Meaning::Aspect("lateral".to_owned())]);

/// The pieces, with each such word as what it says; every part of it keeps the word's place in the line.
pub(super) fn expanded<'v>(pieces: &[Piece<'v>]) -> Vec<Piece<'v>> {
    let mut out = Vec::with_capacity(pieces.len());
    for (at, piece) in pieces.iter().enumerate() {
        if is_just(pieces, at) {
            out.push(Piece { sense: Sense::Means(&FILL), ..piece.clone() });
            continue;
        }
        if is_also(pieces, at) {
            out.push(Piece { sense: Sense::Means(&SAME), ..piece.clone() });
            continue;
        }
        if is_listed_with_or(pieces, at) {
            out.push(Piece { sense: Sense::Means(&OR), ..piece.clone() });
            continue;
        }
        if let Some(others) = others(pieces, at) {
            out.push(Piece { sense: Sense::Limbs(others), ..piece.clone() });
            continue;
        }
        let says: Vec<&'static [Meaning]> = if is_both_of_one_limb(pieces, at) {
            vec![&*MEDIAL, &AND, &*LATERAL]
        } else if is_neither_of_two(pieces, at) {
            vec![&NOT, &BOTH]
        } else if let Some(two) = of_two(pieces, at) {
            vec![two]
        } else if is_two(pieces, at) || is_each(pieces, at) {
            vec![&BOTH]
        } else if let Some(other) = other(pieces, at) {
            vec![other]
        } else {
            out.push(at_that_site(pieces, at).unwrap_or_else(|| piece.clone()));
            continue;
        };
        let one = |means| Piece { sense: Sense::Means(means), look: Look::Plain, ..piece.clone() };
        out.extend(says.into_iter().map(one));
    }
    out
}

/// "left hind suspensory, both branches": there are two of them on each limb.
fn is_both_of_one_limb(pieces: &[Piece<'_>], at: usize) -> bool {
    let both =
        pieces[at].is(|m| matches!(m, Meaning::BothSides)) && !pieces[at].is(|m| matches!(m, Meaning::Them));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    if !both || !next.is_some_and(|next| next.is(|m| matches!(m, Meaning::Twin))) {
        return false;
    }
    let limb = |piece: &&Piece<'_>| piece.is_limbish();
    let named = pieces[..at].iter().rev().find(limb).or_else(|| pieces[at + 1..].iter().find(limb));
    named.and_then(Piece::limbs).is_some_and(|limbs| limbs.len() == 1)
}

/// "neither hock is warm"
fn is_neither_of_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let neither =
        pieces[at].is(|m| matches!(m, Meaning::Them)) && pieces[at].is(|m| matches!(m, Meaning::Not));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    neither
        && next.is_some_and(|next| {
            next.is_spot() || next.is(|m| matches!(m, Meaning::Pair(_) | Meaning::LimbWord))
        })
}

/// "the other": opposite the one limb or side that was named last.
fn other(pieces: &[Piece<'_>], at: usize) -> Option<&'static [Meaning]> {
    pieces[at].is(|m| matches!(m, Meaning::Other)).then_some(())?;
    let last = pieces[..at].iter().rev().find(|piece| piece.is_limbish())?;
    if let Some(limbs) = last.limbs() {
        let [limb] = limbs else { return None };
        let at = Limb::ALL.iter().position(|one| *one == limb.other())?;
        return LIMBS.get(at).map(<[Meaning; 1]>::as_slice);
    }
    match last.get(|m| if let Meaning::Side(side) = m { Some(*side) } else { None })? {
        Side::L => Some(&RIGHT),
        Side::R => Some(&LEFT),
        Side::M => None,
    }
}

/// "swelling and pain, both 2/3", "knee and fetlock both full": of the two that were named, and of no two sides.
fn of_two(pieces: &[Piece<'_>], at: usize) -> Option<&'static [Meaning]> {
    let both = pieces[at].is(|m| matches!(m, Meaning::OfTwo));
    let each = pieces[at].is(|m| matches!(m, Meaning::PerSite));
    let placed = at > 0 && pieces[at - 1].is(|m| matches!(m, Meaning::Preposition));
    if !(both || each) || placed {
        return None;
    }
    let graded =
        |piece: &Piece<'_>| piece.number().is_some() || piece.is(|m| matches!(m, Meaning::Grade(..)));
    let next = pieces[at + 1..].iter().find(|piece| !piece.is_filler());
    let before = pieces[..at].iter().rfind(|piece| !piece.is_filler());
    let grades = next.is_some_and(graded) || next.is_none_or(Piece::is_break) && before.is_some_and(graded);
    if next.is_some_and(|next| {
        next.is_limbish()
            || next.is_spot()
            || next.is(|m| matches!(m, Meaning::Aspect(_) | Meaning::LimbWord | Meaning::Sign { .. }))
    }) {
        return None;
    }
    let named = named_before(pieces, at);
    let two = if each {
        grades && named.findings > 1
    } else {
        named.sides == 1 || named.sides == 0 && named.places > 1 || named.findings > 1 && grades
    };
    two.then_some(if grades { &WHOLE } else { &FILL })
}

/// What the clause names, with the one before it where it names no place itself.
fn named_before(pieces: &[Piece<'_>], at: usize) -> Named {
    let clause = |end: usize| {
        let start = pieces[..end].iter().rposition(Piece::is_break).map_or(0, |at| at + 1);
        (start, end)
    };
    let end = pieces[at..].iter().position(Piece::is_break).map_or(pieces.len(), |length| at + length);
    let place = |piece: &Piece<'_>| {
        piece.is_spot() || piece.is(|m| matches!(m, Meaning::Sign { or_place: true, .. }))
    };
    let found =
        |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { .. } | Meaning::Trait { .. }));
    let (mut start, _) = clause(at);
    let mut sided = start;
    if !pieces[start..at].iter().any(place) && start > 0 && !pieces[start - 1].is_stop() {
        start = clause(start - 1).0;
        sided = pieces[..at].iter().rposition(Piece::is_stop).map_or(0, |stop| stop + 1);
    }
    let count = |wanted: &dyn Fn(&Piece<'_>) -> bool, range: &[Piece<'_>]| {
        range.iter().filter(|piece| wanted(piece)).count()
    };
    Named {
        places: count(&place, &pieces[start..at]),
        sides: [Side::L, Side::R]
            .into_iter()
            .filter(|one| pieces[sided..end].iter().any(|piece| side_of(piece) == Some(*one)))
            .count(),
        findings: count(&found, &pieces[start..at]),
    }
}

/// The side that a piece names, alone or with its limb.
pub(super) fn side_of(piece: &Piece<'_>) -> Option<Side> {
    let of_limb = piece.limbs().and_then(|limbs| limbs.first()).map(|limb| limb.side());
    of_limb.or_else(|| {
        piece.get(|m| match m {
            Meaning::Side(side) | Meaning::WeakSide(side) => Some(*side),
            _ => None,
        })
    })
}

/// How many of each were named.
struct Named {
    places: usize,
    sides: usize,
    findings: usize,
}

/// "left hock swollen right on the point": no side, where one was named before.
fn is_just(pieces: &[Piece<'_>], at: usize) -> bool {
    let right = pieces[at].is(|m| matches!(m, Meaning::Side(Side::R)));
    let leads = pieces.get(at + 1).is_some_and(|next| next.is(|m| matches!(m, Meaning::Preposition)));
    let said =
        |m: &Meaning| matches!(m, Meaning::Finding { .. } | Meaning::Grade(..) | Meaning::Trait { .. });
    let follows = at > 0 && (pieces[at - 1].is(said) || pieces[at - 1].number().is_some());
    let start = pieces[..at].iter().rposition(Piece::is_stop).map_or(0, |stop| stop + 1);
    right && leads && follows && pieces[start..at].iter().any(|piece| side_of(piece).is_some())
}

/// "left biceps sore, left elbow too": the clause says nothing of its own.
fn is_also(pieces: &[Piece<'_>], at: usize) -> bool {
    if !pieces[at].is(|m| matches!(m, Meaning::Also)) {
        return false;
    }
    let start = pieces[..at].iter().rposition(Piece::is_break).map_or(0, |before| before + 1);
    let end = pieces[at..].iter().position(Piece::is_break).map_or(pieces.len(), |length| at + length);
    let clause = &pieces[start..end];
    let place = |piece: &Piece<'_>| piece.is_spot() || piece.is_limbish();
    let mere = |piece: &Piece<'_>| {
        place(piece)
            || piece.is_filler()
            || piece.joins()
            || piece.is(|m| matches!(m, Meaning::Also | Meaning::Aspect(_) | Meaning::WeakSide(_)))
    };
    start > 0 && clause.iter().any(place) && clause.iter().all(mere)
}

/// "not sore, hot, swollen or thickened": a comma in a list of adjectives that ends with "or".
fn is_listed_with_or(pieces: &[Piece<'_>], at: usize) -> bool {
    let adjective = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { says_so: true, .. }));
    let comma = |piece: &Piece<'_>| matches!(piece.sense, Sense::Pause) && piece.look != Look::Heading;
    if !comma(&pieces[at]) {
        return false;
    }
    let mut after = pieces[at + 1..].iter().filter(|piece| !piece.is_filler());
    let ends = loop {
        match (after.next(), after.next()) {
            (Some(one), Some(or)) if adjective(one) && or.is(|m| matches!(m, Meaning::Or)) => {
                break after.next().is_some_and(adjective);
            }
            (Some(one), Some(next)) if adjective(one) && comma(next) => {}
            _ => break false,
        }
    };
    let before = pieces[..at].iter().rev().take_while(|piece| !piece.is_break() || comma(piece));
    let listed = before.take_while(|piece| {
        piece.is_filler()
            || adjective(piece)
            || comma(piece)
            || piece.is(|m| matches!(m, Meaning::Not | Meaning::Lacks(_)))
    });
    ends && listed.clone().any(|piece| piece.is(|m| matches!(m, Meaning::Not | Meaning::Lacks(_))))
}

/// "pulse bounding right fore, others normal": the limbs that were not named before.
fn others(pieces: &[Piece<'_>], at: usize) -> Option<Vec<Limb>> {
    pieces[at].is(|m| matches!(m, Meaning::Others)).then_some(())?;
    let named: Vec<Limb> = pieces[..at].iter().filter_map(Piece::limbs).flatten().copied().collect();
    let others: Vec<Limb> = Limb::ALL.into_iter().filter(|limb| !named.contains(limb)).collect();
    (!named.is_empty() && !others.is_empty()).then_some(others)
}

/// "effusion in each knee": on either side.
fn is_each(pieces: &[Piece<'_>], at: usize) -> bool {
    let each = pieces[at].is(|m| matches!(m, Meaning::PerSite)) && !pieces[at].is_limbish();
    each && pieces.get(at + 1).is_some_and(Piece::is_spot) && !pieces[..at].iter().any(Piece::is_limbish)
}

/// "two capped hocks": where no limb was named, one on either side.
fn is_two(pieces: &[Piece<'_>], at: usize) -> bool {
    let two = pieces[at].number().is_some_and(|number| {
        let bare = number.of.is_none() && !number.plus;
        bare && (number.value - 2.0).abs() < f64::EPSILON
    });
    let several =
        |m: &Meaning| matches!(m, Meaning::Spot { plural: true, .. } | Meaning::Sign { plural: true, .. });
    two && pieces.get(at + 1).is_some_and(|next| next.is(several)) && !pieces.iter().any(Piece::is_limbish)
}

/// "corn on the inside heel, sore to the testers there": the site that was named before.
fn at_that_site<'v>(pieces: &[Piece<'v>], at: usize) -> Option<Piece<'v>> {
    let piece = pieces[at].is(|m| matches!(m, Meaning::There)).then_some(&pieces[at])?;
    let clause = pieces[..at].iter().rev().take_while(|piece| !piece.is_break());
    let mut clause = clause.chain(pieces[at..].iter().take_while(|piece| !piece.is_break()));
    if !clause.any(|piece| piece.is(|m| matches!(m, Meaning::Testers(_)))) {
        return None;
    }
    let site = |piece: &Piece<'v>| piece.means().iter().position(|m| matches!(m, Meaning::TesterSite(_)));
    let means = pieces[..at].iter().rev().find_map(|piece| Some(&piece.means()[site(piece)?]))?;
    Some(Piece { sense: Sense::Means(std::slice::from_ref(means)), ..piece.clone() })
}
