//! Slips of the pen: an unknown word that is one slip (two in a long word) away from exactly one known word.
//!
//! A word that stands in the vocabulary is never looked up here, so no trade word can become another. Words of
//! everyday English that look like trade words (`data/words/plain.txt`) are left alone too.

use std::collections::{HashMap, HashSet};

/// Shorter words are never put right; of this length only two letters that changed places are.
const SWAP_ONLY: usize = 4;
/// From this length on, one slip is forgiven; from the second on, two.
const ONE_SLIP: usize = 5;
const TWO_SLIPS: usize = 8;
/// A letter too many, too few or out of its order is likelier than a wrong one.
const SLIPPED: usize = 2;
const CHANGED: usize = 3;

/// Known words by first letter and length.
#[derive(Debug, Default)]
pub(super) struct Spelling {
    buckets: HashMap<(char, usize), Vec<Known>>,
    /// Everyday words that look like one of the trade.
    plain: HashSet<String>,
}

/// A word, and in how many phrases it stands.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Known {
    word: String,
    common: usize,
}

/// Of two words equally near, one that stands in so many times more phrases is meant.
const COMMONER: usize = 4;

impl Spelling {
    /// Each word comes with the number of phrases that it stands in.
    pub(super) fn new<'a>(words: impl Iterator<Item = (&'a str, usize)>, plain: &[String]) -> Self {
        let mut buckets: HashMap<_, Vec<Known>> = HashMap::new();
        for (word, common) in words.filter(|(word, _)| word.chars().all(char::is_alphabetic)) {
            let length = word.chars().count();
            if let Some(first) = word.chars().next().filter(|_| length >= SWAP_ONLY) {
                buckets.entry((first, length)).or_default().push(Known { word: word.to_owned(), common });
            }
        }
        for bucket in buckets.values_mut() {
            bucket.sort();
        }
        Self { buckets, plain: plain.iter().cloned().collect() }
    }

    /// The one word nearest to `word`; none when two are equally near.
    pub(super) fn nearest(&self, word: &str) -> Option<&str> {
        if self.plain.contains(word) {
            return None;
        }
        let letters: Vec<char> = word.chars().collect();
        let allowed = slips(letters.len());
        let first = *letters.first().filter(|_| allowed > 0)?;
        let mut best: Option<(usize, &Known)> = None;
        let mut tied = false;
        for length in letters.len().saturating_sub(allowed)..=letters.len() + allowed {
            for known in self.buckets.get(&(first, length)).into_iter().flatten() {
                // A shorter word gets no more slips than its own length allows.
                let limit = slips(length).min(allowed) * CHANGED;
                if letters.len().min(length) < ONE_SLIP && !is_swapped(&letters, &known.word) {
                    continue;
                }
                let cost = cost(&letters, &known.word, limit);
                match best {
                    _ if cost > limit => {}
                    Some((least, _)) if cost > least => {}
                    Some((least, other)) if cost == least => {
                        if known.common >= other.common * COMMONER {
                            (best, tied) = (Some((cost, known)), false);
                        } else if other.common < known.common * COMMONER {
                            tied = true;
                        }
                    }
                    _ => (best, tied) = (Some((cost, known)), false),
                }
            }
        }
        best.filter(|_| !tied).map(|(_, known)| known.word.as_str())
    }
}

/// How many slips are forgiven in a word of this length.
fn slips(length: usize) -> usize {
    match length {
        0..SWAP_ONLY => 0,
        SWAP_ONLY..TWO_SLIPS => 1,
        _ => 2,
    }
}

/// Whether the letters are those of the known word, in another order.
fn is_swapped(letters: &[char], known: &str) -> bool {
    let (mut a, mut b): (Vec<char>, Vec<char>) = (letters.to_vec(), known.chars().collect());
    a.sort_unstable();
    b.sort_unstable();
    a == b
}

/// Letters put in, left out, changed or swapped with their neighbour; stops counting past `limit`.
fn cost(a: &[char], b: &str, limit: usize) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).map(|j| j * SLIPPED).collect();
    for i in 1..=a.len() {
        let mut row = vec![i * SLIPPED];
        for j in 1..=b.len() {
            let change = last[j - 1] + if a[i - 1] == b[j - 1] { 0 } else { CHANGED };
            let mut cheapest = change.min(last[j] + SLIPPED).min(row[j - 1] + SLIPPED);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                cheapest = cheapest.min(before[j - 2] + SLIPPED);
            }
            row.push(cheapest);
        }
        if row.iter().min().is_some_and(|least| *least > limit) {
            return limit + 1;
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(limit + 1)
}
