//! Clauses that turn what was said: "but not the right", "nor is the elbow", "except over the withers", "but the loins are".

use super::{
    Clause, Item,
    bind::Binder,
    order::same,
    record::{Bound, Carry, Entry},
    say::{Run, Say, What},
};
use crate::reasoning::line::place::Phrase;

impl<'v> Binder<'_, 'v> {
    /// Whether the clause only turns what was said last, of another place.
    pub(super) fn turns(&mut self, clause: &Clause<'v>) -> bool {
        self.denies(&clause.items) || self.excepts(&clause.items)
    }

    /// "thickened SDFT but not the DDFT", "sore on the right, not on the left".
    fn denies(&mut self, items: &[Item<'v>]) -> bool {
        let [Item::Run(run), Item::Places(phrases)] = items else { return false };
        let mere = run.says.is_empty() && run.loose_grade.is_none() && run.loose_rest.is_none();
        let Some(not) = run.open_not.clone().filter(|_| mere) else { return false };
        let other = |bound: &mut Bound<'v>| {
            says_of_place(&bound.say) && !bound.say.negated && !same(&bound.phrases, phrases)
        };
        let turns = self.last().is_some_and(other);
        if turns {
            self.named(phrases);
            self.again(None, vec![not], phrases);
        }
        turns
    }

    /// "no pain except over the left tuber sacrale", "not sore on the left but he is on the right": there it is.
    fn excepts(&mut self, items: &[Item<'v>]) -> bool {
        let Some(Item::Run(first)) = items.first().filter(|_| items.len() > 1) else { return false };
        let mut runs =
            items.iter().filter_map(|item| if let Item::Run(run) = item { Some(run) } else { None });
        let mut places = items
            .iter()
            .filter_map(|item| if let Item::Places(phrases) = item { Some(phrases) } else { None });
        let (Some(phrases), None) = (places.next(), places.next()) else { return false };
        if !first.but || !runs.clone().all(is_mere) {
            return false;
        }
        let grade = runs.find_map(|run| run.loose_grade.clone());
        let denied = |bound: &&mut Bound<'v>| bound.say.negated && says_of_place(&bound.say);
        let Some(bound) = self.last().filter(denied) else { return false };
        let of = grade.iter().flat_map(|grade| grade.of.clone()).collect();
        let say = Say { negated: false, grade, of, ..bound.say.clone() };
        let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
        if bound.phrases.is_empty() {
            // What was denied was denied of no place in particular.
            let of = std::mem::take(&mut bound.say.of);
            self.entries.pop();
            self.named(phrases);
            self.entry_at(Say { of, ..say }, phrases, None);
            return true;
        }
        self.named(phrases);
        self.entry_at(say, phrases, spot.as_ref());
        true
    }

    /// Places that were spoken of together go on together: "coronet and heel bulbs no heat, no swelling".
    pub(super) fn together(&mut self) -> Option<Vec<Phrase<'v>>> {
        let Some(Entry::Said(bound)) = self.entries.last() else { return None };
        let spots = |phrase: &Phrase<'v>| phrase.spot.as_ref().map(|spot| spot.code.clone());
        let several = bound.phrases.len() > 1 && bound.phrases.iter().all(|phrase| phrase.spot.is_some());
        let apart = several && spots(&bound.phrases[0]) != spots(&bound.phrases[1]);
        (apart && bound.carry != Carry::Nothing).then(|| bound.phrases.clone())
    }
}

/// Nothing but a grade, and no denial.
fn is_mere(run: &Run<'_>) -> bool {
    run.says.is_empty() && run.open_not.is_none() && run.loose_absent.is_none() && run.loose_rest.is_none()
}

fn says_of_place(say: &Say<'_>) -> bool {
    matches!(say.what, What::Finding(_) | What::Sign { .. } | What::Testers(_))
}
