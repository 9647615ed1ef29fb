//! Rows out of a clause in which each answer has a limb, a test or a condition somewhere beside it.
//!
//! "LF 2/5, RF 1/5 at trot" and "2/5 left fore" are the same to the ear: what stands before the first answer is
//! taken as standing before each, what stands after the first as standing after each.

use std::ops::Range;

/// For each key, the group of `others` that belongs to it: the last before it, or the first after it.
pub(super) fn beside(keys: &[Range<usize>], others: &[Range<usize>]) -> Vec<Option<usize>> {
    let leads = match (keys.first(), others.first()) {
        (Some(key), Some(other)) => other.start < key.start,
        _ => false,
    };
    keys.iter()
        .enumerate()
        .map(|(at, key)| {
            let before = others.iter().rposition(|other| other.end <= key.start);
            let limit = keys.get(at + 1).map_or(usize::MAX, |next| next.start);
            let after = others.iter().position(|other| other.start >= key.end && other.start < limit);
            if leads { before.or(after) } else { after.or(before) }
        })
        .collect()
}

/// The same, but what stands after an answer belongs to that one alone: "left two, 60 seconds, right negative".
pub(super) fn own(keys: &[Range<usize>], others: &[Range<usize>]) -> Vec<Option<usize>> {
    let leads = match (keys.first(), others.first()) {
        (Some(key), Some(other)) => other.start < key.start,
        _ => false,
    };
    let mut of = beside(keys, others);
    for (key, other) in keys.iter().zip(&mut of) {
        *other = other.filter(|&at| leads || others[at].start >= key.end);
    }
    of
}

/// Neighbouring positions of one kind as groups; `linked` says whether the gap between two is a mere joint.
pub(super) fn groups(positions: &[usize], linked: impl Fn(usize, usize) -> bool) -> Vec<Range<usize>> {
    let mut out: Vec<Range<usize>> = Vec::new();
    for &position in positions {
        match out.last_mut() {
            Some(last) if linked(last.end, position) => last.end = position + 1,
            _ => out.push(position..position + 1),
        }
    }
    out
}
