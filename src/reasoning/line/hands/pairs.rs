//! Two sides and their two grades, said in another order than one after the other: "moderate left and mild right
//! gluteal wasting", "left and right fetlock effusion 1 and 2". What was found is put first, then each side with its
//! grade, so that the rest reads as "gluteal wasting, left moderate, right mild".

use crate::{
    catalogue::words::Meaning,
    reasoning::line::piece::{Piece, Sense},
};

pub(super) fn untwisted(mut pieces: Vec<Piece<'_>>) -> Vec<Piece<'_>> {
    for at in 1..pieces.len() {
        // "bilateral mild hind fetlock effusion"
        let both = pieces[at - 1].is(|m| matches!(m, Meaning::BothSides));
        let begins = at < 2 || pieces[at - 2].is_break();
        let places = pieces
            .get(at + 1)
            .is_some_and(|next| next.is_spot() || next.is(|m| matches!(m, Meaning::Pair(_))));
        if both && begins && places && pieces[at].is(|m| matches!(m, Meaning::Grade(..))) {
            pieces.swap(at - 1, at);
        }
    }
    let mut out = Vec::with_capacity(pieces.len());
    for sentence in pieces.split_inclusive(Piece::is_stop) {
        let turned = leading(sentence).or_else(|| trailing(sentence)).or_else(|| backward(sentence));
        out.extend(turned.or_else(|| in_turn(sentence)).unwrap_or_else(|| sentence.to_vec()));
    }
    out
}

fn is_grade(piece: &Piece<'_>) -> bool {
    let graded = piece.is(|m| matches!(m, Meaning::Grade(..))) && !piece.is(|m| matches!(m, Meaning::Nad));
    piece.number().is_some() || graded
}

fn is_side(piece: &Piece<'_>) -> bool {
    piece.side_of_limb().is_some()
}

fn is_found(piece: &Piece<'_>) -> bool {
    piece.is(|m| {
        matches!(m, Meaning::Finding { .. } | Meaning::Trait { .. } | Meaning::Sign { or_place: false, .. })
    })
}

fn parts(piece: &Piece<'_>) -> bool {
    piece.joins() || matches!(piece.sense, Sense::Pause) || piece.is_filler()
}

/// A side and its grade that begin at `at`, in whichever order, and where they end.
fn graded_side<'v>(pieces: &[Piece<'v>], at: usize) -> Option<(Vec<Piece<'v>>, usize)> {
    let (first, second) = (pieces.get(at)?, pieces.get(at + 1)?);
    if is_side(first) && is_grade(second) && !pieces.get(at + 2).is_some_and(is_unit) {
        return Some((vec![first.clone(), second.clone()], at + 2));
    }
    (is_grade(first) && is_side(second)).then(|| (vec![second.clone(), first.clone()], at + 2))
}

fn is_unit(piece: &Piece<'_>) -> bool {
    piece.is(|m| matches!(m, Meaning::Unit(_)))
}

/// "left moderate, right mild gluteal wasting"
fn leading<'v>(pieces: &[Piece<'v>]) -> Option<Vec<Piece<'v>>> {
    let start = (0..pieces.len()).find(|&at| graded_side(pieces, at).is_some())?;
    if pieces[..start].iter().any(|piece| is_found(piece) || is_grade(piece) || is_side(piece)) {
        return None;
    }
    let (one, end) = graded_side(pieces, start)?;
    let next = (end..pieces.len()).find(|&at| !parts(&pieces[at]))?;
    let (other, after) = graded_side(pieces, next)?;
    if one[0].side_of_limb() == other[0].side_of_limb() {
        return None;
    }
    let from = (after..pieces.len()).find(|&at| !parts(&pieces[at]))?;
    let to = (from..pieces.len()).find(|&at| pieces[at].is_break()).unwrap_or(pieces.len());
    let tail = &pieces[from..to];
    let turns = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::Not | Meaning::Absent | Meaning::Them));
    let plain = !tail.iter().any(|piece| is_grade(piece) || is_side(piece) || turns(piece));
    let found = tail.iter().filter(|piece| is_found(piece)).count();
    (plain && found == 1).then(|| {
        let between = pieces[end..next].iter().chain(&pieces[after..from]).cloned();
        let head = pieces[..start].iter().chain(tail).cloned();
        head.chain(one)
            .chain(other)
            .chain(between.filter(|piece| !piece.joins() && !piece.is_break()))
            .chain(pieces[to..].iter().cloned())
            .collect()
    })
}

/// "hock effusion two left one right": each grade goes with the side after it.
fn backward<'v>(pieces: &[Piece<'v>]) -> Option<Vec<Piece<'v>>> {
    let pair = |at: usize| {
        let (grade, side) = (pieces.get(at)?, pieces.get(at + 1)?);
        (is_grade(grade) && is_side(side)).then_some(at + 2)
    };
    let first = (1..pieces.len()).find(|&at| pair(at).is_some())?;
    let end = pair(first)?;
    let second = (end..pieces.len()).find(|&at| !pieces[at].is_filler() && !pieces[at].joins())?;
    let after = pair(second)?;
    let apart = pieces[first + 1].side_of_limb() != pieces[second + 1].side_of_limb();
    let found =
        pieces[..first].iter().any(is_found) && !is_side(&pieces[first - 1]) && !is_grade(&pieces[first - 1]);
    let ends = pieces.get(after).is_none_or(|next| !is_grade(next) && !is_found(next));
    (apart && found && ends).then(|| {
        let mut out = pieces.to_vec();
        out.swap(first, first + 1);
        out.swap(second, second + 1);
        out
    })
}

/// "hot and sore, 2 and 1": the grades in the order of what was found.
fn in_turn<'v>(pieces: &[Piece<'v>]) -> Option<Vec<Piece<'v>>> {
    let finding = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Finding { .. }));
    let joined = |at: &usize| {
        pieces
            .get(*at..*at + 3)
            .is_some_and(|three| is_grade(&three[0]) && three[1].joins() && is_grade(&three[2]))
    };
    let grades = (0..pieces.len()).find(joined)?;
    let found: Vec<usize> = (0..grades).filter(|&at| finding(&pieces[at])).collect();
    let [one, other] = found.as_slice() else { return None };
    let plain = !pieces[..grades]
        .iter()
        .any(|piece| is_grade(piece) || piece.is(|m| matches!(m, Meaning::Not | Meaning::Absent)));
    let close = pieces[one + 1..*other].iter().all(parts) && pieces[other + 1..grades].iter().all(parts);
    let ends = pieces.get(grades + 3).is_none_or(Piece::is_break);
    (plain && close && ends).then(|| {
        let mut out = pieces[..=*one].to_vec();
        out.push(pieces[grades].clone());
        out.extend(pieces[one + 1..=*other].iter().cloned());
        out.push(pieces[grades + 2].clone());
        out.extend(pieces[grades + 3..].iter().cloned());
        out
    })
}

/// "left and right fetlock effusion 1 and 2"
fn trailing<'v>(pieces: &[Piece<'v>]) -> Option<Vec<Piece<'v>>> {
    let pair = |at: usize, wanted: fn(&Piece<'_>) -> bool| {
        pieces.get(at..at + 3).filter(|three| wanted(&three[0]) && three[1].joins() && wanted(&three[2]))
    };
    let sides = (0..pieces.len()).find(|&at| pair(at, is_side).is_some())?;
    let grades = (sides + 3..pieces.len()).find(|&at| pair(at, is_grade).is_some())?;
    let others =
        |range: std::ops::Range<usize>| pieces[range].iter().any(|piece| is_side(piece) || is_grade(piece));
    let found = pieces[..grades].iter().filter(|piece| is_found(piece)).count();
    let ends = pieces.get(grades + 3).is_none_or(Piece::is_break);
    if others(0..sides) || others(sides + 3..grades) || found != 1 || !ends {
        return None;
    }
    let mut out: Vec<Piece<'v>> = pieces[..sides].to_vec();
    out.extend(
        pieces[sides + 3..grades].iter().filter(|piece| !matches!(piece.sense, Sense::Pause)).cloned(),
    );
    for step in [0, 2] {
        out.extend([pieces[sides + step].clone(), pieces[grades + step].clone()]);
    }
    out.extend(pieces[grades + 3..].iter().cloned());
    Some(out)
}
