//! A place on both sides that was spoken of as one, then on either side by itself.

use std::sync::Arc;

use super::say::{Say, What};
use crate::{
    catalogue::words::Spot,
    reasoning::line::place::{At, Phrase},
};

/// "both shins: left sore 2/3, right sore 1/3, no heat": what is denied after that is denied of both.
#[derive(Default)]
pub(super) struct Both {
    at: Option<(Arc<Spot>, Vec<At>)>,
    /// Those of them that were spoken of by themselves since.
    told: Vec<At>,
}

impl Both {
    /// Something was said there.
    pub(super) fn follow(&mut self, spot: &Arc<Spot>, at: &[At]) {
        let known = self.at.as_ref().is_some_and(|(of, both)| of.meets(spot) && both.contains(&at[0]));
        match at {
            [one] if known => self.told.push(*one),
            [one, other] if one.side() != other.side() => {
                *self = Self { at: Some((Arc::clone(spot), at.to_vec())), told: Vec::new() };
            }
            _ => *self = Self::default(),
        }
    }

    /// Both, where each was spoken of by itself and this denies something of no place in particular.
    pub(super) fn told(&self, say: &Say<'_>, phrase: &Phrase<'_>) -> Option<Vec<At>> {
        let (_, both) = self.at.as_ref()?;
        let denies = say.negated && matches!(say.what, What::Finding(_)) && phrase.is_empty();
        (denies && both.iter().all(|at| self.told.contains(at))).then(|| both.clone())
    }
}
