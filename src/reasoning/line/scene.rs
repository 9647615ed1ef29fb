//! One line being read: its pieces, what was made of them, and the place that carries on.

use std::sync::Arc;

use super::{
    blocks, correct, cover, flexion, gait, hands,
    parts::{self, Kind},
    piece::{self, Piece},
    reading::{Finding, Made, Reading},
    token::{Token, tokens},
    vitals,
    vocabulary::Vocabulary,
};
use crate::catalogue::{Limb, Side, words::Spot};

/// What was named last and carries on until another is named.
#[derive(Clone, Debug, Default)]
pub(super) struct Context {
    pub limbs: Vec<Limb>,
    /// On the axis.
    pub sides: Vec<Side>,
    pub spot: Option<Arc<Spot>>,
    pub aspect: Option<String>,
}

/// A row with the pieces it was made of.
#[derive(Clone, Debug)]
pub(super) struct Row<'v> {
    pub made: Made,
    pub of: Vec<Piece<'v>>,
}

pub(super) struct Scene<'v> {
    pub line: &'v str,
    pub tokens: Vec<Token>,
    pub context: Context,
    pub rows: Vec<Row<'v>>,
    vocabulary: &'v Vocabulary,
}

impl<'v> Scene<'v> {
    pub(super) fn new(line: &'v str, vocabulary: &'v Vocabulary) -> Self {
        let tokens = vocabulary.joined(tokens(line, &|word| vocabulary.knows(word)));
        Self { line, tokens, context: Context::default(), rows: Vec::new(), vocabulary }
    }

    pub(super) fn read(mut self) -> Reading {
        let all = piece::pieces(self.line, &self.tokens, self.vocabulary);
        let corrected = correct::correct(all);
        for part in parts::parts(&corrected.pieces) {
            let pieces = &corrected.pieces[part.range];
            match part.kind {
                Kind::Hands => hands::read(&mut self, pieces),
                Kind::Vital => vitals::read(&mut self, pieces),
                Kind::Gait => gait::read(&mut self, pieces),
                Kind::Flexion => flexion::read(&mut self, pieces),
                Kind::Block => blocks::read(&mut self, pieces),
                Kind::Aside => {}
            }
        }
        cover::assemble(&self, &corrected)
    }

    /// Adds a row; the very same said twice is one row with both texts, and so is a finding that gets its grade later:
    /// "fetlocks effusion, left 2 right 1".
    pub(super) fn push(&mut self, made: Made, of: Vec<Piece<'v>>) {
        if let Made::Finding(graded) = &made
            && let Some((row, ungraded)) = self.rows.iter_mut().find_map(|row| match &row.made {
                Made::Finding(before) if before.present && before.grade.is_none() => {
                    let later = Finding {
                        present: graded.present,
                        grade: graded.grade,
                        scale: graded.scale.clone(),
                        ..before.clone()
                    };
                    (later == *graded).then_some((&mut row.of, &mut row.made))
                }
                _ => None,
            })
        {
            *ungraded = made;
            row.extend(of);
            return;
        }
        let twice = self.rows.iter_mut().find(|row| match (&row.made, &made) {
            // "moderately distended with effusion"
            (Made::Finding(a), Made::Finding(b)) if b.present && b.grade.is_none() => {
                let graded = Finding { grade: a.grade, scale: a.scale.clone(), ..b.clone() };
                *a == graded
            }
            (Made::Finding(a), Made::Finding(b)) => a == b,
            (Made::Examined(a), Made::Examined(b)) => a == b,
            _ => false,
        });
        if let Some(row) = twice {
            row.of.extend(of);
            return;
        }
        self.rows.push(Row { made, of });
    }
}
