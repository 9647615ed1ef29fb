//! Places that are named after what was found: of that, of several things, of what comes, or of none at all.

use super::{
    Item,
    again::is_both,
    bind::{Binder, Named},
    order::{Flow, is_either, is_grade, is_other_limb, is_whole},
    record::{Carry, Entry},
    say::{Joined, What},
};
use crate::{
    catalogue::{Pair, Side, words::Meaning},
    reasoning::line::place::Phrase,
};

/// The aspect that lies in front.
const FRONT: &str = "dorsal";

impl<'v> Binder<'_, 'v> {
    /// A limb or side after several things: that of all of them, of both places, or none at all.
    pub(super) fn is_of_several(
        &mut self,
        items: &[Item<'v>],
        at: usize,
        phrases: &[Phrase<'v>],
        more: bool,
    ) -> bool {
        if let ([all], true) = (phrases, is_other_limb(phrases) && is_whole(phrases)) {
            // "elbow no swelling, shoulder no pain, all left fore"
            self.all_on(all);
        }
        let Some(Item::Run(run)) = at.checked_sub(1).and_then(|before| items.get(before)) else {
            return false;
        };
        if self.is_front_of_last(phrases) {
            return true;
        }
        if more || run.says.is_empty() {
            return false;
        }
        if is_either(phrases) && run.preposition && self.is_of_both_places(phrases) {
            return true;
        }
        // "withers not sore either"
        // "no thickening of the right fore suspensory and no pain there either": of that one, too.
        let one = !run.preposition && self.sides_named() == 1;
        let bare = one || run.says.last().is_some_and(|say| say.says_so);
        let too = bare && is_either(phrases);
        if let Some(bound) = self.last().filter(|_| too) {
            bound.say.of.extend(phrases.iter().flat_map(|phrase| phrase.of.clone()));
        }
        too || self.both_sides(phrases)
    }

    /// "femoropatellar effusion, femorotibial effusion, no pain on either": two places of one side.
    fn is_of_both_places(&mut self, either: &[Phrase<'v>]) -> bool {
        let one_side = self.sides_named() == 1;
        let mut places: Vec<String> = self
            .said()
            .skip(1)
            .flat_map(|bound| bound.phrases.iter())
            .filter_map(|phrase| phrase.spot.as_ref().map(|spot| spot.code.clone()))
            .collect();
        places.sort_unstable();
        places.dedup();
        let Some(bound) = self.last().filter(|_| one_side && places.len() == 2) else { return false };
        bound.phrases.clear();
        bound.carry = Carry::All;
        bound.say.of.extend(either.iter().flat_map(|phrase| phrase.of.clone()));
        true
    }

    /// "left knee has effusion in front": of that knee, and of no other leg.
    fn is_front_of_last(&mut self, phrases: &[Phrase<'v>]) -> bool {
        let [front] = phrases else { return false };
        let in_front = front.spot.is_none()
            && front.limbs.is_empty()
            && front.sides.is_empty()
            && front
                .of
                .iter()
                .all(|piece| piece.is_filler() || piece.is(|m| matches!(m, Meaning::Pair(Pair::Fore))));
        // "fore" is no front of a place that a foreleg has, "in front" is.
        let direction = front.of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Aspect(_))));
        let of_one = |phrase: &Phrase<'v>| {
            let sided = phrase.sides.len() == 1 && phrase.pair.is_none();
            phrase.spot.as_ref().is_some_and(|spot| {
                (phrase.limbs.len() == 1 || sided && !spot.on_both_pairs())
                    && (direction || spot.fore.is_empty())
            })
        };
        match self.entries.last_mut() {
            _ if !in_front => false,
            Some(Entry::Said(bound)) => {
                let of_it = !bound.phrases.is_empty() && bound.phrases.iter().all(of_one);
                if of_it {
                    bound.say.aspect.get_or_insert_with(|| FRONT.to_owned());
                    bound.say.of.extend(front.of.iter().cloned());
                }
                of_it
            }
            // "off hind cannon knocked in front, swollen"
            Some(Entry::Named(place)) => !place.limbs.is_empty() && of_one(place),
            None => false,
        }
    }

    /// "no heat in the right knee, effusion left knee": of another place than what is not there.
    pub(super) fn is_apart(&mut self, items: &[Item<'v>]) -> bool {
        let or = |item: &Item<'v>| {
            matches!(item, Item::Run(run) if run.begins_with_or
                || run.begins_with_not
                || run.says.iter().any(|say| say.joined == Joined::Or))
        };
        let placed = self
            .last()
            .is_some_and(|bound| !bound.phrases.is_empty() || matches!(bound.say.what, What::Sign { .. }));
        placed && items.iter().any(|item| matches!(item, Item::Places(_))) && !items.iter().any(or)
    }

    /// How many sides were named so far.
    fn sides_named(&self) -> usize {
        let mut sides: Vec<Side> = Vec::new();
        for entry in &self.entries {
            let phrases = match entry {
                Entry::Named(phrase) => std::slice::from_ref(phrase.as_ref()),
                Entry::Said(bound) => bound.phrases.as_slice(),
            };
            for phrase in phrases {
                sides.extend(phrase.limbs.iter().map(|limb| limb.side()).chain(phrase.sides.iter().copied()));
            }
        }
        sides.sort_unstable();
        sides.dedup();
        sides.len()
    }

    /// The place after a run, where it is that of the run.
    pub(super) fn ahead<'a>(&self, items: &'a [Item<'v>], at: usize, flow: Flow) -> Option<&'a [Phrase<'v>]> {
        let (Some(Item::Run(run)), Some(Item::Places(next))) = (items.get(at), items.get(at + 1)) else {
            return None;
        };
        if is_either(next) && !run.preposition && self.sides_named() == 1 {
            // "right elbow no heat, no pain either"
            return None;
        }
        let limb = is_other_limb(next);
        let last = flow.trails && at + 2 == items.len() && limb;
        let ends = matches!(items.last(), Some(Item::Places(_)));
        // "effusion moderate in the left, mild in the right"
        let named = limb || flow.backward && next.iter().all(Phrase::names_limb);
        let graded = (flow.backward && ends || last || run.preposition) && is_grade(&items[at]) && named
            || run.preposition && run.loose_absent.is_some() && run.says.is_empty();
        // "no heat in either" is said of the last thing alone.
        let either = is_both(next) && self.named != Named::Nothing;
        let leads = run.preposition && !either || (at == 0 && self.named == Named::Nothing);
        // "effusion RF 2/4 LF 1/4": the answers come after their limbs.
        let heads = at == 0 && items.last().is_some_and(is_grade);
        let tells = !run.says.is_empty() && (flow.backward || last || leads || heads);
        // "testers negative near fore, positive off fore"
        let answer = run.says.is_empty() && run.loose_positive.is_some() && limb && at == 0;
        (tells || graded || answer && self.denied_last()).then_some(next.as_slice())
    }

    /// Whether what was said last is not there.
    fn denied_last(&self) -> bool {
        let said = self.entries.iter().rev().find_map(|entry| match entry {
            Entry::Said(bound) => Some(&bound.say),
            Entry::Named(_) => None,
        });
        said.is_some_and(|say| say.negated || matches!(say.what, What::Testers(Some(false))))
    }
}
