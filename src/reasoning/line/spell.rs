//! Slips of the pen: an unknown word that is one slip (two in a long word) away from exactly one known word.
//!
//! A word that stands in the vocabulary is never looked up here, so no trade word can become another. Words of
//! everyday English that look like trade words (`data/words/plain.txt`) are left alone too.

use std::collections::HashMap;

/// From this length on, one slip is forgiven; from the second on, two.
const ONE_SLIP: usize = 4;
const TWO_SLIPS: usize = 8;

/// Known words by first letter and length.
#[derive(Debug, Default)]
pub(super) struct Spelling {
    buckets: HashMap<(char, usize), Vec<String>>,
}

impl Spelling {
    pub fn new<'a>(words: impl Iterator<Item = &'a str>) -> Self {
        let mut buckets: HashMap<_, Vec<String>> = HashMap::new();
        for word in words.filter(|word| word.chars().all(char::is_alphabetic)) {
            let length = word.chars().count();
            if let Some(first) = word.chars().next().filter(|_| length >= ONE_SLIP) {
                buckets.entry((first, length)).or_default().push(word.to_owned());
            }
        }
        for bucket in buckets.values_mut() {
            bucket.sort();
        }
        Self { buckets }
    }

    /// The one word nearest to `word`; none when two are equally near.
    pub fn nearest(&self, word: &str) -> Option<&str> {
        let letters: Vec<char> = word.chars().collect();
        let allowed = match letters.len() {
            0..ONE_SLIP => return None,
            ONE_SLIP..TWO_SLIPS => 1,
            _ => 2,
        };
        let first = *letters.first()?;
        let mut best: Option<(usize, &str)> = None;
        let mut tied = false;
        for length in letters.len().saturating_sub(allowed)..=letters.len() + allowed {
            for known in self.buckets.get(&(first, length)).into_iter().flatten() {
                // A shorter word gets no more slips than its own length allows.
                let limit = if length < TWO_SLIPS { 1 } else { allowed };
                let slips = distance(&letters, known, limit);
                if slips > limit {
                    continue;
                }
                match best {
                    Some((least, _)) if slips > least => {}
                    Some((least, _)) if slips == least => tied = true,
                    _ => {
                        best = Some((slips, known));
                        tied = false;
                    }
                }
            }
        }
        best.filter(|_| !tied).map(|(_, known)| known)
    }
}

/// Letters put in, left out, changed or swapped with their neighbour; stops counting past `limit`.
fn distance(a: &[char], b: &str, limit: usize) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            let mut least = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                least = least.min(before[j - 2] + 1);
            }
            row.push(least);
        }
        if row.iter().min().is_some_and(|least| *least > limit) {
            return limit + 1;
        }
        before = std::mem::replace(&mut last, row);
    }
    last.last().copied().unwrap_or(limit + 1)
}
