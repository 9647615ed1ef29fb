//! One line being read: its pieces, what was made of them, and the place that carries on.

use std::sync::Arc;

use super::{
    blocks, correct, cover, flexion, gait, hands,
    parts::{self, Kind},
    piece::{self, Piece},
    reading::{Finding, Gait, Made, Reading},
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

    /// Adds a row. The very same said twice is one row with both texts, and so is a finding of which one said what the
    /// other left open: "fetlocks effusion, left 2 right 1", "moderately distended with effusion".
    pub(super) fn push(&mut self, made: Made, mut of: Vec<Piece<'v>>) {
        if let Made::Finding(there) = &made {
            // "all feet cool except the right fore"
            let denied = |row: &Row<'v>| matches!(&row.made, Made::Finding(row) if is_denial_of(row, there));
            if let Some(at) = self.rows.iter().position(denied) {
                let row = self.rows.remove(at);
                if let Some(before) = at.checked_sub(1).and_then(|at| self.rows.get_mut(at)) {
                    before.of.extend(row.of);
                } else {
                    of.extend(row.of);
                }
            }
        }
        let joined = self.rows.iter().enumerate().rev().find_map(|(at, row)| {
            let joined = match (&row.made, &made) {
                (Made::Finding(a), Made::Finding(b)) => joined(a, b).map(Made::Finding)?,
                (Made::Examined(a), Made::Examined(b)) if a == b => made.clone(),
                (Made::Flexion(a), Made::Flexion(b)) if a == b => made.clone(),
                (Made::Gait(a), Made::Gait(b)) => Made::Gait(answered(a, b)?),
                _ => return None,
            };
            Some((at, joined))
        });
        match joined {
            Some((at, made)) => {
                self.rows[at].made = made;
                self.rows[at].of.extend(of);
            }
            None => self.rows.push(Row { made, of }),
        }
    }
}

/// Whether the first says that the second is not there.
fn is_denial_of(denied: &Finding, there: &Finding) -> bool {
    let place = |row: &Finding| (row.region.clone(), row.side.clone(), row.limb.clone(), row.finding.clone());
    !denied.present
        && there.present
        && denied.aspect == there.aspect
        && there.value.is_none()
        && denied.value.is_none()
        && place(denied) == place(there)
}

/// "sound on the right fore, nought out of five": one answer, said twice.
fn answered(a: &Gait, b: &Gait) -> Option<Gait> {
    let scaled = Gait { scale: a.scale.clone().or(b.scale.clone()), ..a.clone() };
    let alike = a.grade == b.grade && a.limb == b.limb && a.condition == b.condition;
    (alike && (a.scale == b.scale || a.grade == Some(0.0) && (a.scale.is_none() || b.scale.is_none())))
        .then_some(scaled)
}

/// Both as one finding, where neither says what the other denies.
fn joined(a: &Finding, b: &Finding) -> Option<Finding> {
    /// What either says; none where they say different things.
    fn either<T: PartialEq + Clone>(a: Option<&T>, b: Option<&T>) -> Result<Option<T>, ()> {
        match (a, b) {
            (Some(a), Some(b)) if a != b => Err(()),
            (a, b) => Ok(a.or(b).cloned()),
        }
    }
    if a == b {
        return Some(a.clone());
    }
    let grade = either(a.grade.as_ref(), b.grade.as_ref()).ok()?;
    let scale = if a.grade.is_some() { a.scale.clone() } else { b.scale.clone() };
    let aspect = either(a.aspect.as_ref(), b.aspect.as_ref()).ok()?;
    let value_mm = either(a.value_mm.as_ref(), b.value_mm.as_ref()).ok()?;
    let both = Finding { aspect, grade, scale, value_mm, ..a.clone() };
    let other = Finding {
        aspect: both.aspect.clone(),
        grade: both.grade,
        scale: both.scale.clone(),
        value_mm,
        ..b.clone()
    };
    let denied = a.present && a.grade.is_none() && !b.present;
    let alike = Finding { present: a.present, ..other.clone() } == both;
    match (a.present && both == other, denied && alike) {
        (true, _) => Some(both),
        // "fetlock effusion, LF 1, RF 0"
        (false, true) => Some(other),
        _ => None,
    }
}
