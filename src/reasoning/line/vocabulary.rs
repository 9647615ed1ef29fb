//! The vocabulary made ready for reading: a trie over words, built once, in which the longest phrase is found.

use std::collections::{HashMap, HashSet};

use super::{
    spell::Spelling,
    token::{Token, phrase},
};
use crate::catalogue::words::{Meaning, Words};

/// Words that may stand inside a phrase without belonging to it: "sole is flat", "back of the fetlock".
const PASSED: [&str; 9] = ["is", "are", "of", "the", "a", "in", "on", "looks", "feels"];

/// Shorter words are not put together again.
const SHORTEST_CUT: usize = 5;

/// A small word that stands in so many phrases of the trade is one of the trade too: "joint".
const OFTEN: usize = 100;

#[derive(Debug, Default)]
struct Node {
    next: HashMap<u32, usize>,
    means: Vec<Meaning>,
}

#[derive(Debug)]
pub(super) struct Vocabulary {
    words: HashMap<String, u32>,
    nodes: Vec<Node>,
    passed: Vec<u32>,
    /// Words before a "one" that counts nothing.
    pointing: HashSet<String>,
    spelling: Spelling,
}

/// A phrase found: how many tokens it spans and what it means.
pub(super) struct Found<'v> {
    pub length: usize,
    pub means: &'v [Meaning],
    /// The token of a grade that stands inside it: "range of motion moderately reduced".
    pub grade: Option<usize>,
}

impl Vocabulary {
    pub(super) fn new<'a>(rows: impl IntoIterator<Item = (&'a str, Meaning)>, words: &Words) -> Self {
        let mut made = Self {
            words: HashMap::new(),
            nodes: vec![Node::default()],
            passed: Vec::new(),
            pointing: words.pointing.iter().cloned().collect(),
            spelling: Spelling::default(),
        };
        made.passed = PASSED.iter().map(|word| made.id(word)).collect();
        for forms in &words.alike {
            let Some((word, forms)) = forms.split_first() else { continue };
            let id = made.id(word);
            made.words.extend(forms.iter().map(|form| (form.clone(), id)));
        }
        let rows: Vec<_> = rows.into_iter().collect();
        let singular: HashSet<&str> = rows.iter().map(|(says, _)| *says).collect();
        for (says, means) in &rows {
            let of_several = says
                .strip_suffix('s')
                .filter(|one| matches!(means, Meaning::Sign { .. }) && singular.contains(one));
            let means = of_several.and_then(|_| plural(means)).unwrap_or_else(|| means.clone());
            made.add(&phrase(says), means, false);
        }
        // Plurals of places and signs need no rows of their own; a row that has one stands before this.
        for (says, means) in &rows {
            if let Some(plural) = plural(means) {
                made.add(&phrase(&format!("{says}s")), plural, true);
            }
        }
        made.spelling = made.slips(&rows, words);
        made
    }

    /// Slips are looked for in trade words only: one in a small word is no harm, and "would" is no wound.
    fn slips(&self, rows: &[(&str, Meaning)], words: &Words) -> Spelling {
        let mut common: HashMap<String, usize> = HashMap::new();
        let mut small: HashSet<String> = HashSet::new();
        for (says, means) in rows {
            let mut words = phrase(says).into_iter().map(|token| token.norm);
            if is_trade(means) {
                words.for_each(|word| *common.entry(word).or_default() += 1);
            } else if !matches!(means, Meaning::Quality)
                && let (Some(word), None) = (words.next(), words.next())
            {
                small.insert(word);
            }
        }
        let plurals: Vec<(&str, usize)> = self
            .words
            .keys()
            .filter(|word| !common.contains_key(*word))
            .filter_map(|word| Some((word.as_str(), *common.get(word.strip_suffix('s')?)?)))
            .collect();
        let known = common.iter().map(|(word, count)| (word.as_str(), *count)).chain(plurals);
        let kept = |word: &str, count: usize| {
            !small.contains(word) || count >= OFTEN || words.short.iter().any(|short| short == word)
        };
        Spelling::new(known.filter(|(word, count)| kept(word, *count)), &words.plain, &words.short)
    }

    fn id(&mut self, word: &str) -> u32 {
        let next = u32::try_from(self.words.len()).unwrap_or(u32::MAX);
        *self.words.entry(word.to_owned()).or_insert(next)
    }

    /// Adds a phrase; `only_new` leaves one that means something of the kind already as it is.
    fn add(&mut self, phrase: &[Token], means: Meaning, only_new: bool) {
        let mut at = 0;
        // A minus inside a phrase may be missing from the line, one at either end is a sign: "+/-", "-ve".
        let inside = |index: usize| index > 0 && index + 1 < phrase.len() && phrase[index].norm == "-";
        for (_, token) in phrase.iter().enumerate().filter(|(index, _)| !inside(*index)) {
            let word = self.id(&token.norm);
            at = if let Some(&next) = self.nodes[at].next.get(&word) {
                next
            } else {
                self.nodes.push(Node::default());
                let next = self.nodes.len() - 1;
                self.nodes[at].next.insert(word, next);
                next
            };
        }
        let kind = std::mem::discriminant(&means);
        let stands = self.nodes[at].means.iter().any(|other| std::mem::discriminant(other) == kind);
        if at != 0 && !(only_new && stands) {
            self.nodes[at].means.push(means);
        }
    }

    /// Words that dictation cut in two are one again: "fet lock". One of the two must be no word by itself.
    pub(super) fn joined(&self, tokens: Vec<Token>) -> Vec<Token> {
        let mut out: Vec<Token> = Vec::with_capacity(tokens.len());
        for token in tokens {
            let whole = out
                .last()
                .filter(|last| last.is_word && token.is_word && !token.glued && token.norm.len() > 1)
                .and_then(|last| {
                    let whole = format!("{}{}", last.norm, token.norm);
                    let apart = self.is_word(&last.norm) && self.is_word(&token.norm);
                    let cut = !apart && !self.is_phrase(&last.norm, &token.norm);
                    (cut && whole.chars().count() >= SHORTEST_CUT && self.knows(&whole)).then_some(whole)
                });
            match (whole, out.last_mut()) {
                (Some(whole), Some(last)) => (last.norm, last.to) = (whole, token.to),
                _ => out.push(token),
            }
        }
        out
    }

    /// Whether it means something standing alone.
    fn is_word(&self, word: &str) -> bool {
        let node = self.words.get(word).and_then(|id| self.nodes[0].next.get(id));
        node.is_some_and(|&node| !self.nodes[node].means.is_empty())
    }

    /// Whether a phrase begins with these two words.
    fn is_phrase(&self, first: &str, second: &str) -> bool {
        let step = |node: usize, word: &str| self.nodes[node].next.get(self.words.get(word)?).copied();
        step(0, first).and_then(|node| step(node, second)).is_some()
    }

    pub(super) fn knows(&self, word: &str) -> bool {
        self.words.contains_key(word)
    }

    /// The vocabulary's word that `word` is a slip of, if there is exactly one.
    pub(super) fn corrected(&self, word: &str) -> Option<&str> {
        if self.knows(word) { None } else { self.spelling.nearest(word) }
    }

    /// The longest phrase that begins at `start`.
    pub(super) fn longest(&self, tokens: &[Token], ids: &[Option<u32>], start: usize) -> Option<Found<'_>> {
        let mut at = 0;
        let mut best = None;
        let mut index = start;
        let mut grade = None;
        let mut passed = false;
        while let Some(id) = ids.get(index) {
            let next = id.and_then(|id| self.nodes[at].next.get(&id));
            if let Some(&next) = next {
                at = next;
                index += 1;
                let finds = |m: &Meaning| matches!(m, Meaning::Finding { .. });
                let means = &self.nodes[at].means;
                // "back on the right" is no right hind leg, "not on the right" no lameness.
                let close = |m: &Meaning| matches!(m, Meaning::Limbs(_) | Meaning::Lame);
                let apart = passed && means.iter().any(close);
                if !means.is_empty() && !apart && (grade.is_none() || means.iter().any(finds)) {
                    best = Some(Found { length: index - start, means: &self.nodes[at].means, grade });
                }
            } else if index > start && self.passes(tokens, ids, index) {
                passed |= tokens[index].is_word;
                index += 1;
            } else if index > start && grade.is_none() && self.is_grade(*id) {
                grade = Some(index);
                index += 1;
            } else {
                break;
            }
        }
        best
    }

    /// Whether a "one" after this word points at something: "the big one".
    pub(super) fn points(&self, word: &str) -> bool {
        self.pointing.contains(word)
    }

    fn is_grade(&self, id: Option<u32>) -> bool {
        let node = id.and_then(|id| self.nodes[0].next.get(&id));
        node.is_some_and(|&node| self.nodes[node].means.iter().any(|m| matches!(m, Meaning::Grade(..))))
    }

    fn passes(&self, tokens: &[Token], ids: &[Option<u32>], index: usize) -> bool {
        let inside = tokens.get(index + 1).is_some_and(|next| next.glued);
        match tokens[index].norm.as_str() {
            "-" => tokens[index].glued && inside,
            "." => tokens[index].glued,
            _ => ids[index].is_some_and(|id| self.passed.contains(&id)),
        }
    }

    /// The ids of a line's tokens, after slips of the pen were put right.
    pub(super) fn ids(&self, tokens: &[Token]) -> Vec<Option<u32>> {
        let id = |word: &str| self.words.get(word).copied();
        tokens
            .iter()
            .map(|token| {
                id(&token.norm).or_else(|| {
                    let corrected = token.is_word.then(|| self.corrected(&token.norm)).flatten();
                    corrected.and_then(id)
                })
            })
            .collect()
    }
}

/// What the plural of a word for a place or a sign means; others have none of their own.
fn plural(means: &Meaning) -> Option<Meaning> {
    let mut plural = means.clone();
    match &mut plural {
        Meaning::Spot { plural, .. } | Meaning::Sign { plural, .. } => *plural = true,
        Meaning::Block { .. } => {}
        _ => return None,
    }
    Some(plural)
}

/// Whether a word belongs to the trade, and not to the language around it.
fn is_trade(means: &Meaning) -> bool {
    !matches!(
        means,
        Meaning::Fill
            | Meaning::With
            | Meaning::Preposition
            | Meaning::And
            | Meaning::Or
            | Meaning::But
            | Meaning::Then
            | Meaning::Not
            | Meaning::Absent
            | Meaning::Rest
            | Meaning::Whole
            | Meaning::Down
            | Meaning::Them
            | Meaning::Bends
            | Meaning::Extent
            | Meaning::Same
            | Meaning::Fix
            | Meaning::Scratch
            | Meaning::Aside
            | Meaning::Number(_)
            | Meaning::OutOf(_)
            | Meaning::Hold(_)
            | Meaning::Quality
            | Meaning::GradeWord
            | Meaning::Press
            | Meaning::Present
            | Meaning::Beyond
            | Meaning::OfTwo
            | Meaning::Also
            | Meaning::Elsewhere
            | Meaning::Others
            | Meaning::PerSite
    )
}
