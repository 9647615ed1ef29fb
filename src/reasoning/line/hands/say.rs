//! What a run of words says: what was found, how much of it, and what goes with it.

use std::sync::Arc;

use crate::{
    catalogue::{
        catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::{graded::Grading, piece::Piece},
};

/// What a clause says of a place.
#[derive(Clone, Debug)]
pub(super) enum What {
    Finding(String),
    Sign {
        code: String,
        spot: Arc<Spot>,
        grade: Option<f64>,
        plural: bool,
    },
    Pick {
        spot: Arc<Spot>,
        field: String,
        value: Option<String>,
        normal: bool,
    },
    Measure {
        spot: Arc<Spot>,
        field: String,
    },
    Testers(Option<bool>),
    /// Nothing found; `rest` of the limb, after what was found.
    Nad {
        rest: bool,
    },
    /// As at the place before.
    Same,
}

/// One thing said, with all that goes with it.
#[derive(Clone, Debug)]
#[expect(clippy::struct_excessive_bools, reason = "independent ways in which a thing can be said")]
pub(super) struct Say<'v> {
    pub what: What,
    pub grade: Option<Grading<'v>>,
    pub aspect: Option<String>,
    pub mm: Option<f64>,
    pub sites: Vec<String>,
    /// Words that give a measured item its number.
    pub number: Option<f64>,
    pub negated: bool,
    /// Said to be there, in so many words.
    pub affirmed: bool,
    /// An adjective: it ends a list of things that are not there.
    pub says_so: bool,
    /// Of all places spoken of so far: "neither is painful".
    pub of_all: bool,
    pub joined: Joined,
    pub of: Vec<Piece<'v>>,
}

impl<'v> Say<'v> {
    pub(super) fn new(what: What, of: Vec<Piece<'v>>) -> Self {
        Self {
            what,
            grade: None,
            aspect: None,
            mm: None,
            sites: Vec::new(),
            number: None,
            negated: false,
            affirmed: false,
            says_so: false,
            of_all: false,
            joined: Joined::No,
            of,
        }
    }
}

/// How it hangs on what stands before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Joined {
    No,
    And,
    Or,
}

/// A run, taken apart.
#[derive(Clone, Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "independent ways in which a run can begin or end")]
pub(super) struct Run<'v> {
    pub says: Vec<Say<'v>>,
    /// Belongs to what was said before this run, or comes after it.
    pub loose_grade: Option<Grading<'v>>,
    pub loose_mm: Option<(f64, Vec<Piece<'v>>)>,
    pub loose_aspect: Option<(String, Piece<'v>)>,
    pub loose_absent: Option<Piece<'v>>,
    pub loose_positive: Option<Piece<'v>>,
    /// "passive flexion of", before the joint that it hurts in.
    pub loose_bends: Option<Piece<'v>>,
    pub loose_qualities: Vec<Piece<'v>>,
    /// "on deep pressure": a grade alone is one of pain.
    pub presses: bool,
    /// "the rest of", before the limb that it is the rest of.
    pub loose_rest: Option<Piece<'v>>,
    /// "no" with nothing after it: the place stands between it and the finding.
    pub open_not: Option<Piece<'v>>,
    pub preposition: bool,
    /// Begins with "and" or "or".
    pub joins: bool,
    /// A word that nobody knows stands before what is said: it may have been a place.
    pub strange: Strange,
    pub begins_with_not: bool,
    pub begins_with_or: bool,
    pub but: bool,
}

impl Run<'_> {
    /// Takes off all but the last thing said, where that one stands by itself before its place.
    pub(super) fn before_last(&mut self) -> Option<Self> {
        let [.., before, last] = self.says.as_slice() else { return None };
        let nad = matches!(last.what, What::Nad { .. });
        let apart =
            last.joined == Joined::No && (before.grade.is_some() || nad || before.negated != last.negated);
        if !(self.preposition && apart) {
            return None;
        }
        let last = self.says.pop()?;
        let says = std::mem::replace(&mut self.says, vec![last]);
        Some(Self { says, ..Self::default() })
    }
}

/// What the words are like that nobody knows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Strange {
    #[default]
    None,
    Word,
    /// In capitals, as places are cut short.
    Capitals,
}

pub(super) fn takes_grade(what: &What) -> bool {
    match what {
        What::Finding(_) | What::Testers(_) | What::Same => true,
        What::Sign { grade, .. } => grade.is_none(),
        What::Pick { .. } | What::Measure { .. } | What::Nad { .. } => false,
    }
}

pub(super) fn what(piece: &Piece<'_>) -> Option<(What, bool)> {
    match piece.held() {
        Some(held) => meant(held),
        None => piece.get(meant),
    }
}

pub(super) fn meant(m: &Meaning) -> Option<(What, bool)> {
    match m {
        Meaning::Finding { code, says_so } => Some((What::Finding(code.clone()), *says_so)),
        Meaning::Lacks(code) => Some((What::Finding(code.clone()), true)),
        Meaning::Sign { code, spot, grade, plural, .. } => {
            let what =
                What::Sign { code: code.clone(), spot: Arc::clone(spot), grade: *grade, plural: *plural };
            Some((what, false))
        }
        Meaning::Pick { spot, field, value, normal } => {
            let what = What::Pick {
                spot: Arc::clone(spot),
                field: field.clone(),
                value: value.clone(),
                normal: *normal,
            };
            Some((what, true))
        }
        Meaning::Measure { spot, field } => {
            Some((What::Measure { spot: Arc::clone(spot), field: field.clone() }, true))
        }
        Meaning::Testers(answer) => Some((What::Testers(*answer), false)),
        Meaning::Nad => Some((What::Nad { rest: false }, true)),
        Meaning::Same => Some((What::Same, true)),
        _ => None,
    }
}

pub(super) fn has_scale(code: &str) -> bool {
    catalogue().finding(code).is_some_and(|row| row.scale.is_some())
}

/// "mild heat and swelling": the word speaks for both.
pub(super) fn share_grade(says: &mut [Say<'_>]) {
    for at in 1..says.len() {
        let (before, rest) = says.split_at_mut(at);
        let (Some(first), Some(next)) = (before.last(), rest.first_mut()) else { continue };
        let leads = first.grade.as_ref().is_some_and(|grade| {
            grade.in_words
                && grade.of.first().map(|piece| piece.from) < first.of.first().map(|piece| piece.from)
        });
        let shares = next.joined == Joined::And
            && next.grade.is_none()
            && !next.negated
            && !first.negated
            && !next.says_so
            && takes_grade(&next.what);
        if leads && shares {
            next.grade.clone_from(&first.grade);
        }
    }
}
