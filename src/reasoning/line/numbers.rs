//! Numbers as they are written and said: 2, 2.5, 2½, 2/5, 1-2, 1+, ++, "two and a half out of five", "thirty eight
//! point four".

use super::{token::Token, vocabulary::Vocabulary};
use crate::catalogue::words::{Meaning, Unit};

#[derive(Clone, Debug, PartialEq)]
pub(super) struct Number {
    pub value: f64,
    /// What it is out of: 2/5.
    pub of: Option<f64>,
    /// Written with plus signs, which only grades are.
    pub plus: bool,
    /// Said in words.
    pub spoken: bool,
}

/// Denominators that grades and scores are given out of.
const SCALES: [f64; 5] = [3.0, 4.0, 5.0, 9.0, 10.0];

/// The number that begins at a token, and how many tokens it takes.
pub(super) fn read(
    tokens: &[Token],
    vocabulary: &Vocabulary,
    ids: &[Option<u32>],
    at: usize,
) -> Option<(usize, Number)> {
    let reader = Reader { tokens, vocabulary, ids };
    if let Some(found) = reader.plus(at) {
        return Some(found);
    }
    if let Some(found) = reader.plus_words(at) {
        return Some(found);
    }
    if reader.points(at) || reader.is_of_vertebra(at) {
        return None;
    }
    let (mut end, mut value) = reader.simple(at)?;
    let spoken = tokens[at].is_word;
    if let Some((after, high)) = reader.range(end) {
        // "down from 2 to 1": what it is now.
        let from = at > 0 && reader.is(at - 1, "from");
        end = after;
        value = if from { high } else { f64::midpoint(value, high) };
    }
    let mut number = Number { value, of: None, plus: false, spoken };
    if let Some((after, of)) = reader.out_of(end) {
        end = after;
        number.of = Some(of);
    } else if reader.is(end, "plus") || reader.is(end, "+") && tokens[end].glued {
        end += 1;
        number.plus = true;
    }
    Some((end - at, number))
}

struct Reader<'a> {
    tokens: &'a [Token],
    vocabulary: &'a Vocabulary,
    ids: &'a [Option<u32>],
}

impl Reader<'_> {
    fn is(&self, at: usize, norm: &str) -> bool {
        self.tokens.get(at).is_some_and(|token| token.norm == norm)
    }

    /// "T14/15": the next vertebra, and no grade.
    fn is_of_vertebra(&self, at: usize) -> bool {
        let Some(before) = at.checked_sub(2) else { return false };
        let (first, stroke) = (&self.tokens[before], &self.tokens[at - 1]);
        let numbered = first.is_word
            && first.norm.starts_with(['c', 't', 'l', 's'])
            && first.norm.len() > 1
            && first.norm[1..].bytes().all(|byte| byte.is_ascii_digit());
        numbered && ["/", "-"].contains(&stroke.norm.as_str()) && stroke.glued && self.tokens[at].glued
    }

    /// "plus plus", and "plus" alone after a finding where nothing else is added.
    fn plus_words(&self, at: usize) -> Option<(usize, Number)> {
        let count = (at..self.tokens.len()).take_while(|&word| self.is(word, "plus")).count();
        let found = |m: &Meaning| matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }).then_some(());
        let after = at.checked_sub(1).and_then(|before| self.meaning(before, found)).is_some();
        let ends = self.tokens.get(at + count).is_none_or(|next| !next.is_word && next.number.is_none());
        let value = f64::from(u32::try_from(count).ok()?);
        (after && (2..=4).contains(&count) || after && count == 1 && ends)
            .then_some((count, Number { value, of: None, plus: true, spoken: true }))
    }

    /// `+`, `++`, `+++` as a grade, and `+2`. A single plus between two words joins them.
    fn plus(&self, at: usize) -> Option<(usize, Number)> {
        let token = self.tokens.get(at).filter(|token| token.norm.starts_with('+'))?;
        let count = u32::try_from(token.norm.len()).ok()?;
        let next = self.tokens.get(at + 1);
        let word = self.tokens.get(at + 2).is_some_and(|after| after.is_word);
        if self.is(at + 1, "/") && next.is_some_and(|slash| slash.glued) && !word
            || next.is_some_and(|next| next.glued && next.norm == "ve")
        {
            return None;
        }
        if let Some(value) = next.filter(|next| next.glued && count == 1).and_then(|next| next.number) {
            let (end, of) = self.out_of(at + 2).map_or((at + 2, None), |(end, of)| (end, Some(of)));
            return Some((end - at, Number { value, of, plus: true, spoken: false }));
        }
        // "spasm + R" is a grade, "heat + pain" is none.
        let finds = at.checked_sub(1).and_then(|before| {
            self.meaning(before, |m| {
                matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. }).then_some(())
            })
        });
        let limb = self.names_limb(at + 1);
        // "HT + across the heels"
        let tested = at
            .checked_sub(1)
            .and_then(|before| self.meaning(before, |m| matches!(m, Meaning::Testers(_)).then_some(())));
        let another = self.meaning(at + 1, |m| {
            matches!(m, Meaning::Finding { .. } | Meaning::Sign { .. } | Meaning::Testers(_)).then_some(())
        });
        // "++ left, + right", "LF + RF ++"
        let leads = at.checked_sub(1).is_none_or(|before| !self.tokens[before].is_word);
        let between = at.checked_sub(1).and_then(|before| self.names_limb(before)).is_some();
        let scored = self.tokens.iter().filter(|token| token.norm.starts_with('+')).count() > 1;
        let graded = limb.is_some() && (finds.is_some() || scored && (leads || between))
            || tested.is_some() && another.is_none();
        let joins = count == 1
            && !token.glued
            && !self.is(at + 1, "/")
            && next.is_some_and(|next| next.is_word)
            && !graded;
        let number = Number { value: f64::from(count), of: None, plus: true, spoken: false };
        (!joins && count <= 4).then_some((1, number))
    }

    fn names_limb(&self, at: usize) -> Option<()> {
        self.meaning(at, |m| {
            matches!(m, Meaning::Limbs(_) | Meaning::Side(_) | Meaning::WeakSide(_)).then_some(())
        })
    }

    fn names_side(&self, at: usize) -> bool {
        self.meaning(at, |m| matches!(m, Meaning::Side(_) | Meaning::WeakSide(_)).then_some(())).is_some()
    }

    /// "the right one is warm" counts nothing, "right one out of four" does.
    fn points(&self, at: usize) -> bool {
        let after = ["out", "of", "over", "plus", "+", "/"];
        self.is(at, "one")
            && at > 0
            && (self.names_side(at - 1) || self.vocabulary.points(&self.tokens[at - 1].norm))
            && !(at > 1 && self.is(at - 2, "make"))
            && !self.ends_limb(at - 1)
            && !after.iter().any(|word| self.is(at + 1, word))
            && !self.counts_sides(at)
    }

    /// "left front one": a limb in two words, and no front one.
    fn ends_limb(&self, at: usize) -> bool {
        let pair = ["front", "fore", "hind", "back"].iter().any(|pair| self.is(at, pair));
        pair && at.checked_sub(1).is_some_and(|before| self.names_side(before))
    }

    /// "left two, right one": the other side was counted before.
    fn counts_sides(&self, at: usize) -> bool {
        let mut others = (1..at.saturating_sub(1)).chain(at + 2..(at + 5).min(self.tokens.len()));
        others.any(|number| {
            let side = self.names_side(number - 1);
            let counted = self.tokens[number].number.is_some() || self.word(number).is_some();
            side && counted && !self.is(number, "one")
        })
    }

    /// "a hundred and one"
    fn a_hundred(&self, at: usize) -> Option<(usize, f64)> {
        (self.is(at, "a") && self.word(at + 1) == Some(100.0)).then_some(())?;
        let after = at + 2 + usize::from(self.is(at + 2, "and"));
        let rest = self.below_hundred(after);
        let (end, value) = rest.map_or((at + 2, 100.0), |(end, rest)| (end, 100.0 + rest));
        if let Some((after, decimals)) = self.decimals(end + 1).filter(|_| self.is(end, "point")) {
            return Some((after, value + decimals));
        }
        Some(self.half(end).map_or((end, value), |(end, half)| (end, value + half)))
    }

    /// "an inch", "half a centimetre".
    fn article(&self, at: usize) -> Option<(usize, f64)> {
        let article = |at| self.is(at, "a") || self.is(at, "an");
        let unit = |at| {
            self.meaning(at, |m| {
                matches!(m, Meaning::Unit(Unit::Mm | Unit::Cm | Unit::Inch | Unit::Hours)).then_some(())
            })
        };
        if self.is(at, "half") && article(at + 1) && unit(at + 2).is_some() {
            return Some((at + 2, 0.5));
        }
        (article(at) && unit(at + 1).is_some()).then_some((at + 1, 1.0))
    }

    /// A number in digits or in words, with its half.
    fn simple(&self, at: usize) -> Option<(usize, f64)> {
        let token = self.tokens.get(at)?;
        if let Some(value) = token.number {
            let mut end = at + 1;
            let mut value = value;
            if value.fract() == 0.0 {
                if let Some((after, half)) = self.half(end) {
                    end = after;
                    value += half;
                } else if self.is(end, "point")
                    && let Some((after, decimals)) = self.decimals(end + 1)
                {
                    end = after;
                    value += decimals;
                }
            }
            return Some((end, value));
        }
        self.a_hundred(at)
            .or_else(|| self.article(at))
            .or_else(|| self.scored(at))
            .or_else(|| self.words(at))
            .or_else(|| self.echo(at))
    }

    /// "½" after a whole number, "1/2" after one, "and a half".
    fn half(&self, at: usize) -> Option<(usize, f64)> {
        let next = self.tokens.get(at)?;
        if let Some(part) =
            next.number.filter(|part| part.fract() != 0.0 && next.norm.chars().all(|c| !c.is_ascii_digit()))
        {
            return Some((at + 1, part));
        }
        if next.norm == "1" && self.is(at + 1, "/") && self.is(at + 2, "2") {
            return Some((at + 3, 0.5));
        }
        let half = self.is(at, "and") && self.is(at + 1, "a") && self.is(at + 2, "half");
        half.then_some((at + 3, 0.5))
    }

    /// The value of one number word.
    fn word(&self, at: usize) -> Option<f64> {
        self.meaning(at, |m| if let Meaning::Number(value) = m { Some(*value) } else { None })
    }

    /// What one word means by itself.
    fn meaning<T>(&self, at: usize, pick: impl Fn(&Meaning) -> Option<T>) -> Option<T> {
        self.tokens.get(at).filter(|token| token.is_word)?;
        let single = self.tokens.get(..=at)?;
        let found = self.vocabulary.longest(single, self.ids.get(..=at)?, at)?;
        found.means.iter().find_map(pick)
    }

    /// The value of a number word, or of one that sounds like it and stands where a number is due.
    fn heard(&self, at: usize) -> Option<f64> {
        self.word(at)
            .or_else(|| self.meaning(at, |m| if let Meaning::Echo(value) = m { Some(*value) } else { None }))
    }

    /// A word that sounds like a number, where only a number makes sense: "grade too", "for out of five".
    fn echo(&self, at: usize) -> Option<(usize, f64)> {
        let value = self.meaning(at, |m| if let Meaning::Echo(value) = m { Some(*value) } else { None })?;
        let graded = |at| self.meaning(at, |m| matches!(m, Meaning::GradeWord).then_some(()));
        let due = at.checked_sub(1).and_then(graded).is_some() || self.out_of(at + 1).is_some();
        due.then_some((at + 1, value))
    }

    /// "oh one": a grade as it is written on some charts, 01.
    fn scored(&self, at: usize) -> Option<(usize, f64)> {
        let zero = self.is(at, "oh") || self.is(at, "o");
        let value = self.word(at + 1).filter(|value| zero && (1.0..=4.0).contains(value))?;
        Some((at + 2, value))
    }

    /// "one oh one": figures one by one.
    fn figures(&self, at: usize) -> Option<(usize, f64)> {
        let figure = |at| self.word(at).filter(|value| (1.0..10.0).contains(value));
        let zero = self.heard(at + 1) == Some(0.0);
        let (first, last) = (figure(at)?, figure(at + 2)?);
        zero.then_some((at + 3, first * 100.0 + last))
    }

    /// "thirty eight", "one hundred and ten", "five hundred", "two and a half", "thirty eight point four".
    fn words(&self, at: usize) -> Option<(usize, f64)> {
        let (mut end, mut value) = (at + 1, self.word(at)?);
        if let Some((after, whole)) = self.figures(at) {
            (end, value) = (after, whole);
        } else if value < 20.0 && self.word(end) == Some(100.0) {
            value *= 100.0;
            end += 1;
            let after_and = end + usize::from(self.is(end, "and"));
            if let Some((after, rest)) = self.below_hundred(after_and) {
                value += rest;
                end = after;
            }
        } else if let Some((after, whole)) = self.hundreds(at) {
            (end, value) = (after, whole);
        } else if let Some((after, whole)) = self.below_hundred(at) {
            (end, value) = (after, whole);
        }
        if let Some((after, half)) = self.half(end) {
            (end, value) = (after, value + half);
        } else if self.is(end, "point")
            && let Some((after, decimals)) = self.decimals(end + 1)
        {
            (end, value) = (after, value + decimals);
        }
        Some((end, value))
    }

    /// "four eighty kilos", "five sixty five kilos".
    fn hundreds(&self, at: usize) -> Option<(usize, f64)> {
        let hundreds = self.word(at).filter(|value| (1.0..10.0).contains(value))?;
        let (end, rest) = self.below_hundred(at + 1).filter(|(_, rest)| *rest >= 10.0)?;
        let weighed = self.meaning(end, |m| matches!(m, Meaning::Unit(Unit::Kg | Unit::Lb)).then_some(()));
        weighed.map(|()| (end, hundreds * 100.0 + rest))
    }

    fn below_hundred(&self, at: usize) -> Option<(usize, f64)> {
        let first = self.word(at).filter(|value| *value < 100.0)?;
        // "six tea too" is sixty two.
        let tea = first < 10.0 && self.is(at + 1, "tea");
        let (at, first) = if tea { (at + 1, first * 10.0) } else { (at, first) };
        // "thirty-six" is no range.
        let hyphen = self.is(at + 1, "-") && self.tokens[at + 1].glued && first >= 20.0;
        if let Some(second) = self.word(at + 2).filter(|second| hyphen && (1.0..10.0).contains(second)) {
            return Some((at + 3, first + second));
        }
        let ends = self.tokens.get(at + 2).is_none_or(|next| !next.is_word && next.number.is_none())
            || self.meaning(at + 2, |m| matches!(m, Meaning::Unit(_)).then_some(())).is_some();
        let second = if ends { self.heard(at + 1) } else { self.word(at + 1) };
        let second = second.filter(|value| first >= 20.0 && (1.0..10.0).contains(value));
        Some(second.map_or((at + 1, first), |second| (at + 2, first + second)))
    }

    /// Digits after "point", one word or figure each.
    fn decimals(&self, at: usize) -> Option<(usize, f64)> {
        let (mut end, mut value, mut weight) = (at, 0.0, 0.1);
        while let Some(digit) = self
            .tokens
            .get(end)
            .and_then(|token| token.number)
            .or_else(|| self.heard(end))
            .filter(|digit| digit.fract() == 0.0 && *digit < 10.0)
        {
            value += digit * weight;
            weight /= 10.0;
            end += 1;
        }
        (end > at).then_some((end, (value * 1000.0).round() / 1000.0))
    }

    /// The upper end of a range: "1-2", "one to two".
    fn range(&self, at: usize) -> Option<(usize, f64)> {
        let between = self.is(at, "and") && at >= 2 && self.is(at - 2, "between");
        if between {
            return self.simple(at + 1);
        }
        let dash = ["-", "\u{2013}"].iter().any(|dash| self.is(at, dash)) && self.tokens[at].glued;
        if !dash && !self.is(at, "to") {
            return None;
        }
        self.simple(at + 1)
    }

    /// "/5", "out of five", "over 5", "of 5".
    fn out_of(&self, at: usize) -> Option<(usize, f64)> {
        if self.is(at, "tenths") || self.is(at, "tenth") {
            return Some((at + 1, 10.0));
        }
        if self.is(at, "fifths") || self.is(at, "fifth") {
            return Some((at + 1, 5.0));
        }
        let start = match self.tokens.get(at)?.norm.as_str() {
            "/" | "of" | "over" | "outta" => at + 1,
            "out" if self.is(at + 1, "of") => at + 2,
            _ => return None,
        };
        let (end, of) = match self.tokens.get(start)?.number {
            Some(of) => (start + 1, of),
            None => (start + 1, self.heard(start)?),
        };
        let slash = self.is(at, "/");
        (SCALES.contains(&of) || (slash && of.fract() == 0.0 && of > 1.0 && of < 11.0)).then_some((end, of))
    }
}
