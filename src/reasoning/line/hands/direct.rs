//! Directions that stand beside no finding: "lateral 2, medial neg", "dorsal: thick 2", "the RF branch, medial".

use super::{
    bind::{Binder, Within},
    order::same,
    record::{Bound, Carry, Entry},
    say::{Run, Say, What},
};
use crate::reasoning::line::{graded::Grading, piece::Piece, place::Phrase};

impl<'v> Binder<'_, 'v> {
    /// A direction with nothing but an answer beside it.
    pub(super) fn other_aspects(&mut self, run: &mut Run<'v>) {
        let Some(aspect) = run.loose_aspect.as_ref().filter(|_| run.says.is_empty()) else { return };
        if let Some(absent) = run.loose_absent.as_ref().or(run.open_not.as_ref())
            && self.other_aspect(aspect, None, std::slice::from_ref(absent))
        {
            (run.loose_aspect, run.loose_absent, run.open_not) = (None, None, None);
        } else if let Some(grade) = &run.loose_grade
            && self.other_aspect(aspect, Some(grade), &grade.of)
        {
            (run.loose_aspect, run.loose_grade) = (None, None);
        }
    }

    /// A direction of what comes, or of what was said last.
    pub(super) fn turn_aspect(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>], within: Within) {
        let Some((aspect, piece)) = run.loose_aspect.take() else { return };
        let of_last = self.last().is_some_and(|bound| same(&bound.phrases, phrases));
        let named = matches!(self.entries.last(), Some(Entry::Named(_)));
        let fresh = if phrases.is_empty() {
            self.entries.is_empty() || !self.waiting.is_empty()
        } else {
            named && !of_last
        };
        let leads = within.apart || fresh;
        if leads && run.says.is_empty() {
            self.aspect = Some((aspect, piece));
        } else {
            self.loose_aspect(&aspect, piece);
        }
    }

    /// "digital pulse medial 2, lateral 1", "lateral 2, medial neg": the same finding on the other side of the place.
    fn other_aspect(
        &mut self,
        (aspect, piece): &(String, Piece<'v>),
        grade: Option<&Grading<'v>>,
        of: &[Piece<'v>],
    ) -> bool {
        let other = |bound: &&mut Bound<'v>| {
            let placed = bound.phrases.last().and_then(|phrase| phrase.aspect.as_ref());
            let before = bound.say.aspect.as_ref().or(placed);
            bound.say.grade.is_some() && before.is_some_and(|before| before != aspect)
        };
        let Some(bound) = self.last().filter(other) else { return false };
        let phrases: Vec<Phrase<'v>> =
            bound.phrases.iter().map(|phrase| Phrase { aspect: None, ..phrase.clone() }).collect();
        let of = of.iter().chain([piece]).cloned().collect();
        let aspect = Some(aspect.clone());
        let negated = grade.is_none();
        let say = Say { aspect, grade: grade.cloned(), negated, of, ..bound.say.clone() };
        self.entries.push(Entry::Said(Box::new(Bound { say, phrases, carry: Carry::On })));
        true
    }

    /// The direction that stood before the run reaches what is said in it, unless that is said of another place:
    /// "fetlock, palmar: effusion 2, wound on the pastern".
    pub(super) fn direct(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>]) {
        let here = |bound: &mut Bound<'v>| phrases.is_empty() || same(&bound.phrases, phrases);
        if !self.last().is_none_or(here) {
            self.aspect = None;
        }
        let Some((aspect, piece)) = &self.aspect else { return };
        for say in run.says.iter_mut().filter(|say| say.aspect.is_none()) {
            say.aspect = Some(aspect.clone());
            say.of.push(piece.clone());
        }
    }

    /// "the RF suspensory branch, medial": of everything that was said of that place.
    pub(super) fn loose_aspect(&mut self, aspect: &str, piece: Piece<'v>) {
        let Some(phrases) = self.last().map(|bound| bound.phrases.clone()) else { return };
        let mut piece = Some(piece);
        for bound in self.said().take_while(|bound| same(&bound.phrases, &phrases)) {
            if bound.say.aspect.is_none() && !matches!(bound.say.what, What::Nad { .. }) {
                bound.say.aspect = Some(aspect.to_owned());
                bound.say.of.extend(piece.take());
            }
        }
    }
}
