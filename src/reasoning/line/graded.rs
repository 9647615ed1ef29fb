//! How much: grades in words, numbers, fractions and ranges, and the scale they can stand on.

use super::piece::{Piece, Sense};
use crate::catalogue::{
    Scale,
    words::{Meaning, Unit},
};

/// A grade as it was said.
#[derive(Clone, Debug)]
pub(super) struct Grading<'v> {
    /// On scales that end at 3, and at 4 or beyond.
    three: f64,
    four: f64,
    pub of_number: Option<f64>,
    /// Said in a word, which may speak for two findings.
    pub in_words: bool,
    pub of: Vec<Piece<'v>>,
}

impl<'v> Grading<'v> {
    /// The grade that begins at `at`, and where it ends; a number with a unit is none.
    pub(super) fn read(pieces: &[Piece<'v>], at: usize) -> Option<(Self, usize)> {
        let mut start = at;
        while pieces.get(start)?.is(|m| matches!(m, Meaning::GradeWord)) {
            start += 1;
        }
        let (mut grading, mut end) = Self::single(pieces, start)?;
        grading.of = pieces[at..end].to_vec();
        let linked = pieces.get(end).is_some_and(|link| {
            matches!(link.sense, Sense::Mute | Sense::Joint)
                || link.is(|m| matches!(m, Meaning::Fill | Meaning::Preposition))
        });
        if linked
            && grading.in_words
            && let Some((high, after)) = Self::single(pieces, end + 1)
            && high.in_words
        {
            grading.three = f64::midpoint(grading.three, high.three);
            grading.four = f64::midpoint(grading.four, high.four);
            grading.of = pieces[at..after].to_vec();
            end = after;
        }
        // "moderate (2/4)", "mild 1": a number after the word is the grade.
        if grading.in_words
            && let Some((number, after)) = Self::single(pieces, end).filter(|(next, _)| !next.in_words)
        {
            let of = pieces[at..after].to_vec();
            // "a moderate one"
            let one =
                pieces[end].number().is_some_and(|one| one.spoken && one.of.is_none() && one.value <= 1.0);
            if one {
                return Some((Self { of, ..grading }, after));
            }
            return Some((Self { of, ..number }, after));
        }
        if grading.in_words
            && let Some((stronger, after)) = Self::single(pieces, end).filter(|(next, _)| next.in_words)
        {
            let of = pieces[at..after].to_vec();
            return Some((Self { of, ..stronger }, after));
        }
        Some((grading, end))
    }

    fn single(pieces: &[Piece<'v>], at: usize) -> Option<(Self, usize)> {
        let piece = pieces.get(at)?;
        let of = vec![piece.clone()];
        if let Some(number) = piece.number() {
            let measured = pieces.get(at + 1).is_some_and(|unit| unit.is(|m| matches!(m, Meaning::Unit(_))));
            let grading =
                Self { three: number.value, four: number.value, of_number: number.of, in_words: false, of };
            // "reduced by half" is no grade.
            let part = number.spoken && number.value < 1.0 && number.value > 0.0;
            return (!measured && !part).then_some((grading, at + 1));
        }
        let (three, four) =
            piece.get(|m| if let Meaning::Grade(three, four) = m { Some((*three, *four)) } else { None })?;
        Some((Self { three, four, of_number: None, in_words: true, of }, at + 1))
    }

    /// The grade on a scale, and whether the scale is the one it was said on. None where it cannot stand.
    pub(super) fn on(&self, scale: &Scale) -> Option<(f64, bool)> {
        let top = f64::from(scale.range().1);
        let value = if top > 3.0 { self.four } else { self.three };
        match self.of_number {
            Some(of) if (of - top).abs() > f64::EPSILON => Some((self.three, false)),
            _ => (value <= top).then_some((value, true)),
        }
    }

    /// The number itself, for scales that are chosen by it.
    pub(super) fn value(&self) -> f64 {
        self.three
    }
}

/// A measurement in millimetres that begins at `at`, and where it ends.
pub(super) fn millimetres(pieces: &[Piece<'_>], at: usize) -> Option<(f64, usize)> {
    let number = pieces.get(at)?.number()?;
    let unit = pieces.get(at + 1)?.get(|m| if let Meaning::Unit(unit) = m { Some(*unit) } else { None })?;
    let factor = match unit {
        Unit::Mm => 1.0,
        Unit::Cm => 10.0,
        Unit::Inch => 25.4,
        _ => return None,
    };
    // "an inch and a half"
    let half = pieces.get(at + 2).is_some_and(Piece::joins)
        && pieces.get(at + 3).and_then(Piece::number).is_some_and(|half| half.value < 1.0);
    let value = if half { number.value + 0.5 } else { number.value };
    Some(((value * factor * 10.0).round() / 10.0, at + if half { 4 } else { 2 }))
}
