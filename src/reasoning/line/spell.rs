//! Slips of the pen: an unknown word that is one slip (two in a long word) away from exactly one known word.
//!
//! A word that stands in the vocabulary is never looked up here, so no trade word can become another. Words of
//! everyday English that look like trade words (`data/words/plain.txt`) are left alone too.

use std::collections::{HashMap, HashSet};

/// Shorter words are never put right; of this length only two letters that changed places are.
const SWAP_ONLY: usize = 4;
/// Shorter words are never taken for a slip, not even of a short word that everybody uses: "pai", "lef".
const SHORTEST_SLIP: usize = 3;
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
    /// Words by what is left of them when their vowels are dropped: "bck", "wnd".
    bare: HashMap<String, Vec<Known>>,
    /// Everyday words that look like one of the trade.
    plain: HashSet<String>,
}

/// A word, and in how many phrases it stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Known {
    /// Put right although it is short.
    short: bool,
    word: String,
    common: usize,
}

/// A word without its vowels is known by so many letters.
const SHORTEST_CUT: usize = 3;

/// So many letters of a word that was broken off tell which it is.
const SHORTEST_START: usize = 4;

/// Of two words equally near, one that stands in so many times more phrases is meant.
const COMMONER: usize = 4;

impl Spelling {
    /// Each word comes with the number of phrases that it stands in. `short`: short words that one slip is forgiven in.
    pub(super) fn new<'a>(
        words: impl Iterator<Item = (&'a str, usize)>,
        plain: &[String],
        short: &[String],
    ) -> Self {
        let short: HashSet<&str> = short.iter().map(String::as_str).collect();
        let mut buckets: HashMap<_, Vec<Known>> = HashMap::new();
        let mut bare: HashMap<_, Vec<Known>> = HashMap::new();
        for (word, common) in words.filter(|(word, _)| word.chars().all(char::is_alphabetic)) {
            let length = word.chars().count();
            if let Some(first) = word.chars().next().filter(|_| length >= SWAP_ONLY) {
                let known = Known { short: short.contains(word), word: word.to_owned(), common };
                bare.entry(without_vowels(word)).or_default().push(known.clone());
                buckets.entry((first, length)).or_default().push(known);
            }
        }
        for bucket in buckets.values_mut().chain(bare.values_mut()) {
            bucket.sort();
        }
        Self { buckets, bare, plain: plain.iter().cloned().collect() }
    }

    /// The one word nearest to `word`; none when two are equally near.
    pub(super) fn nearest(&self, word: &str) -> Option<&str> {
        if self.plain.contains(word) {
            return None;
        }
        let letters: Vec<char> = word.chars().collect();
        let allowed = if letters.len() >= SHORTEST_SLIP { slips(letters.len()).max(1) } else { 0 };
        let first = *letters.first().filter(|_| allowed > 0)?;
        let mut best: Option<(usize, &Known)> = None;
        let mut tied = false;
        for length in letters.len().saturating_sub(allowed)..=letters.len() + allowed {
            for known in self.buckets.get(&(first, length)).into_iter().flatten() {
                // A shorter word gets no more slips than its own length allows.
                let limit = slips(length).min(allowed) * CHANGED;
                if letters.len().min(length) < ONE_SLIP
                    && !known.short
                    && (letters.len() < SWAP_ONLY || !is_swapped(&letters, &known.word))
                {
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
        let best = best.filter(|_| !tied).map(|(_, known)| known.word.as_str());
        best.or_else(|| self.cut(word)).or_else(|| self.begun(word))
    }

    /// The word that was broken off: "infraspin", "tars".
    fn begun(&self, word: &str) -> Option<&str> {
        let length = word.chars().count();
        if length < SHORTEST_START || word.ends_with(|letter| "aeiouy".contains(letter)) {
            return None;
        }
        let first = word.chars().next()?;
        let whole = |known: &&Known| known.word.starts_with(word) && known.word.chars().count() > length + 1;
        let longer = self.buckets.iter().filter(|((letter, long), _)| *letter == first && *long > length);
        let found = longer.flat_map(|(_, bucket)| bucket).filter(whole);
        found
            .max_by_key(|known| (known.common, std::cmp::Reverse(&known.word)))
            .map(|known| known.word.as_str())
    }

    /// The word of which some vowels were left out; the commonest by far where there are several.
    fn cut(&self, word: &str) -> Option<&str> {
        let bare = without_vowels(word);
        if bare.chars().count() < SHORTEST_CUT {
            return None;
        }
        let mut found: Vec<&Known> =
            self.bare.get(&bare)?.iter().filter(|known| holds_in_order(&known.word, word)).collect();
        found.sort_by_key(|known| std::cmp::Reverse(known.common));
        let clear = found.get(1).is_none_or(|second| found[0].common >= second.common * COMMONER);
        found.first().filter(|_| clear).map(|known| known.word.as_str())
    }
}

/// The first letter and the consonants after it, each once where it is doubled.
fn without_vowels(word: &str) -> String {
    let mut out = String::new();
    for (at, letter) in word.chars().enumerate() {
        if (at == 0 || !"aeiou".contains(letter)) && !out.ends_with(letter) {
            out.push(letter);
        }
    }
    out
}

/// Whether the letters of `short` stand in `word` in their order, and others between them.
fn holds_in_order(word: &str, short: &str) -> bool {
    let mut letters = word.chars();
    short.len() < word.len() && short.chars().all(|letter| letters.any(|other| other == letter))
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
