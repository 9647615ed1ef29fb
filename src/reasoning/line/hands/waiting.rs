//! Places that were named and wait for what is said of them, and places that say more exactly where an earlier one is.

use std::sync::Arc;

use super::{
    Item,
    bind::Binder,
    order::{copy_limb, is_other_limb, pair, same},
    record::{Bound, Carry, Entry},
    say::{Say, What},
    within::{
        ends_same, has_own_spot, is_open, is_part, is_said_after, is_said_before, is_under, is_within,
        lies_in, narrows, take_over,
    },
};
use crate::reasoning::line::place::Phrase;

/// Whether the second only says on which side the first is.
fn is_on(place: &Phrase<'_>, wide: &Phrase<'_>) -> bool {
    wide.spot.is_some() && wide.names_limb() && !place.names_limb() && is_within(place, wide)
}

/// "sore there, right fore": something was found, and only its limb is known.
fn is_bare(say: &Say<'_>, wide: &Phrase<'_>) -> bool {
    matches!(say.what, What::Finding(_)) && wide.spot.is_none() && wide.names_limb()
}

impl<'v> Binder<'_, 'v> {
    /// The place at the end is that of the whole list of what is not there.
    pub(super) fn place_denied(&mut self, phrases: &[Phrase<'v>]) {
        let Some(spot) = phrases.first().and_then(|phrase| phrase.spot.clone()) else { return };
        for bound in self.said().take_while(|bound| bound.say.negated) {
            for phrase in bound.phrases.iter_mut().filter(|phrase| phrase.spot.is_none()) {
                phrase.spot = Some(Arc::clone(&spot));
            }
        }
    }

    /// "sacrum not": a "no" that ends the clause denies there what was said before.
    pub(super) fn denied(&mut self, last: Option<&Item<'v>>) {
        let Some(Item::Run(run)) = last.filter(|_| self.last().is_some()) else { return };
        let Some(Entry::Named(place)) = self.entries.last() else { return };
        let place = vec![place.as_ref().clone()];
        if run.says.is_empty()
            && let Some(not) = run.open_not.clone()
        {
            self.not = None;
            self.again(None, vec![not], &place);
        }
    }

    /// Places that still wait go on with the list of those that something was said of before they were named.
    pub(super) fn end_of_list(&mut self) {
        let Some(from) = self.listed.take() else { return };
        let said: Vec<(Say<'v>, Option<Phrase<'v>>)> = (self.entries.get(from..).into_iter().flatten())
            .filter_map(|entry| match entry {
                Entry::Said(bound) => Some((bound.say.clone(), bound.phrases.last().cloned())),
                Entry::Named(_) => None,
            })
            .collect();
        for mut phrase in std::mem::take(&mut self.waiting) {
            // "nothing abnormal of LF, RF": a limb alone goes on with what limbs can be.
            let suits = |say: &Say<'v>| phrase.spot.is_some() || matches!(say.what, What::Nad { .. });
            let said: Vec<_> = said.iter().filter(|(say, _)| suits(say)).cloned().collect();
            for (say, last) in &said {
                if let Some(last) = last.as_ref().filter(|_| !phrase.names_limb()) {
                    copy_limb(&mut phrase, last);
                }
                let say = Say { of: phrase.of.clone(), ..say.clone() };
                let bound = Bound { say, phrases: vec![phrase.clone()], carry: Carry::On };
                self.entries.push(Entry::Said(Box::new(bound)));
            }
        }
    }

    /// A place after what was said of a wider one, or of one without a limb, says which: "fetlock warm, LF".
    /// Gives the places as they then stand.
    pub(super) fn refine(&mut self, phrases: &[Phrase<'v>], from: usize) -> Option<Vec<Phrase<'v>>> {
        let [said] = phrases else { return None };
        let mut refined = None;
        let last = self.last()?.phrases.clone();
        for entry in self.entries.get_mut(from..).into_iter().flatten().rev() {
            let Entry::Said(bound) = entry else { continue };
            if !bound.phrases.is_empty() && !last.is_empty() && !same(&bound.phrases, &last) {
                break;
            }
            if bound.phrases.is_empty() && said.spot.is_none() && has_own_spot(&bound.say) {
                bound.phrases.push(Phrase::default());
            }
            for phrase in &mut bound.phrases {
                if lies_in(phrase, said) {
                    // "femoropatellar effusion, left stifle"
                    refined = Some(());
                    copy_limb(phrase, said);
                    phrase.of.extend(said.of.iter().cloned());
                } else if narrows(said, phrase) {
                    refined = Some(());
                    take_over(phrase, said);
                }
            }
        }
        refined?;
        self.last().map(|bound| bound.phrases.clone())
    }

    /// A clause that only names places waits for what is said of them.
    pub(super) fn leave(&mut self, here: Option<Vec<Phrase<'v>>>, limbed: bool) {
        let Some(mut phrases) = here else { return };
        if self.last().is_some_and(|bound| ends_same(&bound.phrases, &phrases)) {
            return;
        }
        if let [place] = phrases.as_slice()
            && self.is_of_last(place)
        {
            return;
        }
        if let [limb] = phrases.as_slice()
            && is_other_limb(&phrases)
            && let Some(bound) = self.last()
        {
            // "windgalls behind, both sides", "right cannon swollen, hind".
            let half = |phrase: &Phrase<'v>| {
                let on_both = phrase.spot.as_ref().is_none_or(|spot| spot.on_both_pairs());
                (phrase.pair.is_some() || on_both) && phrase.names_limb() && narrows(limb, phrase)
            };
            if bound.phrases.is_empty() && bound.carry == Carry::Afresh && limb.sides.len() < 2 {
                // "pain, left; no pain, right"
                bound.phrases.push(limb.clone());
                return;
            }
            if !limbed || bound.phrases.iter().any(half) {
                self.all_on(limb);
                return;
            }
        }
        if let ([limb], Some(place)) = (phrases.as_slice(), self.waiting.last_mut())
            && is_other_limb(&phrases)
            && !place.names_limb()
        {
            // "lateral side of the stifle, off hind, swollen".
            take_over(place, limb);
            return;
        }
        if self.waits_for_pair(&mut phrases) {
            return;
        }
        if self.is_again(&phrases)
            && let Some(grade) = self.grade.take()
        {
            let of = grade.of.clone();
            self.again(Some(grade), of, &phrases);
            return;
        }
        for phrase in phrases {
            self.wait(phrase);
        }
    }

    /// A place that tells where the last finding is, more widely or more exactly.
    fn is_of_last(&mut self, said: &Phrase<'v>) -> bool {
        let Some(bound) = self.last() else { return false };
        if bound.phrases.iter().any(|place| is_on(place, said)) {
            // "capsule thickened, tarsocrural joint, right hock"
            for place in bound.phrases.iter_mut().filter(|place| is_on(place, said)) {
                copy_limb(place, said);
                place.of.extend(said.of.iter().cloned());
            }
            return true;
        }
        if let [wide] = bound.phrases.as_mut_slice()
            && (is_open(&bound.say.what, wide) || is_bare(&bound.say, wide))
            && said.spot.is_some()
            && narrows(said, wide)
        {
            // "neck: reduced range of motion, mid neck".
            take_over(wide, said);
            return true;
        }
        false
    }

    /// "left coffin joint, forelimb: no effusion"
    fn waits_for_pair(&mut self, phrases: &mut [Phrase<'v>]) -> bool {
        let ([pair], Some(place)) = (phrases, self.waiting.last_mut()) else { return false };
        let alone = is_other_limb(std::slice::from_ref(pair)) && pair.pair.is_some() && pair.sides.is_empty();
        let open = place.spot.is_some() && place.limbs.is_empty() && place.pair.is_none();
        if alone && open {
            place.pair = pair.pair;
            place.heads |= pair.heads;
            place.of.append(&mut pair.of);
        }
        alone && open
    }

    /// A limb alone tells the place after it where it is; a narrower word tells which place a wider one means.
    pub(super) fn wait(&mut self, mut phrase: Phrase<'v>) {
        let takes = |before: &Phrase<'v>| {
            let limb = before.spot.is_none() && before.aspect.is_none() && before.names_limb();
            phrase.spot.is_some() && !phrase.names_limb() && (limb || is_within(&phrase, before))
        };
        // "calcaneal region, left hock": the second only says where the first is.
        let where_ = |before: &Phrase<'v>| {
            phrase.spot.is_some() && phrase.names_limb() && !before.names_limb() && is_within(before, &phrase)
        };
        if let Some(mut before) = self.waiting.pop_if(|before| where_(before)) {
            copy_limb(&mut before, &phrase);
            before.of.append(&mut phrase.of);
            self.waiting.push(before);
            return;
        }
        if let Some(before) = self.waiting.pop_if(|before| takes(before)) {
            copy_limb(&mut phrase, &before);
            phrase.of.splice(0..0, before.of);
        }
        self.waiting.push(phrase);
    }

    /// "elbow swollen, knee effusion 1, near fore": the limb at the end is that of all that was said before it.
    pub(super) fn all_on(&mut self, limb: &Phrase<'v>) {
        for bound in self.said() {
            if bound.phrases.is_empty() {
                bound.phrases.push(Phrase::default());
            }
            for phrase in bound.phrases.iter_mut().filter(|phrase| narrows(limb, phrase)) {
                take_over(phrase, limb);
            }
        }
    }

    /// Whether a limb alone is named and what was said before lacks one.
    pub(super) fn limbs_before(&mut self, limb: &Phrase<'v>) -> bool {
        let open = |bound: &Bound<'v>| bound.phrases.iter().any(|phrase| narrows(limb, phrase));
        let own = limb.of.first().map(|piece| piece.from);
        let other = |entry: &Entry<'v>| matches!(entry, Entry::Named(place) if place.names_limb() && place.of.first().map(|piece| piece.from) != own);
        let alone = limb.spot.is_none() && limb.names_limb() && !self.entries.iter().any(other);
        alone && self.said().any(|bound| open(bound))
    }

    /// The waiting places join those of this clause; a limb alone only tells the others where they are.
    pub(super) fn with_waiting(
        &mut self,
        phrases: Option<&[Phrase<'v>]>,
        nothing_said: bool,
    ) -> Vec<Phrase<'v>> {
        let mut own = phrases.unwrap_or_default().to_vec();
        let graded = self.last().is_some_and(|bound| bound.say.grade.is_some());
        if nothing_said
            && own.is_empty()
            && self.waiting.len() == 1
            && (graded || is_other_limb(&self.waiting))
        {
            // "right fore fetlock: mild effusion; left: none"
            return std::mem::take(&mut self.waiting);
        }
        if nothing_said || self.waiting.is_empty() {
            return own;
        }
        let mut all = std::mem::take(&mut self.waiting);
        if let (Some(own), Some(head)) = (own.first_mut(), all.last())
            && is_under(own, head)
        {
            all.pop();
        }
        if all.is_empty() {
            return own;
        }
        if let ([own], [place]) = (own.as_mut_slice(), all.as_slice())
            && is_part(own, place)
        {
            return vec![own.clone()];
        }
        if let (false, [limb]) = (own.is_empty(), all.as_slice())
            && limb.spot.is_none()
        {
            if limb.limbs.len() == 1 && is_other_limb(&own) && !limb.heads {
                // "LF, RF and LH clean"
                all.extend(own);
                return all;
            }
            on_limb(&mut own, limb);
            return own;
        }
        let of_one = match (all.as_slice(), own.as_mut_slice()) {
            ([place], [own]) => is_said_before(place, own) || is_said_after(place, own),
            ([place], [first, ..]) => is_said_after(place, first),
            _ => false,
        };
        if of_one {
            return own;
        }
        all.extend(own);
        for at in 1..all.len() {
            if !all[at].names_limb() {
                let before = all[at - 1].clone();
                copy_limb(&mut all[at], &before);
            }
        }
        all
    }
}

/// A limb that was named before places tells where those are that name none.
fn on_limb<'v>(places: &mut [Phrase<'v>], limb: &Phrase<'v>) {
    let Some(first) = places.first_mut() else { return };
    if let Some(pair) = pair(limb)
        && first.limbs.is_empty()
        && first.pair.is_none()
        && !first.sides.is_empty()
    {
        // "hind end: both suspensories"
        first.pair = Some(pair);
    }
    if first.names_limb() {
        return;
    }
    first.of.extend(limb.of.iter().cloned());
    for phrase in places.iter_mut().filter(|phrase| !phrase.names_limb()) {
        copy_limb(phrase, limb);
        phrase.headed = limb.heads;
    }
}
