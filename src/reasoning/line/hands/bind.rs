//! Which place each finding belongs to: the one named before it, or the one named after it.

use super::{
    Clause, Item,
    record::{self, Bound},
    run::{Joined, Joined2, Run, Say, What, takes_grade},
};
use crate::reasoning::line::{
    graded::Grading,
    piece::Piece,
    place::Phrase,
    scene::Scene,
};

/// Goes through the clauses and keeps what carries over from one to the next.
pub(super) struct Binder<'s, 'v> {
    scene: &'s mut Scene<'v>,
    bound: Vec<Bound<'v>>,
    /// Places named without a finding so far: "LF fetlock, pastern and coffin joint NAD".
    waiting: Vec<Phrase<'v>>,
    /// A list of things that are not there may go on in the next clause.
    listing: bool,
    /// "no" that stands before the place: "no LF fetlock effusion".
    not: Option<Piece<'v>>,
    /// A grade that stands before the place.
    grade: Option<Grading<'v>>,
    /// Whether a place was named at all.
    placed: bool,
    /// A full stop stands between the last region and here.
    afresh: bool,
}

impl<'s, 'v> Binder<'s, 'v> {
    pub(super) fn new(scene: &'s mut Scene<'v>) -> Self {
        let placed = scene.context.spot.is_some() || !scene.context.limbs.is_empty() || !scene.context.sides.is_empty();
        Self { scene, bound: Vec::new(), waiting: Vec::new(), listing: false, not: None, grade: None, placed, afresh: false }
    }

    pub(super) fn clause(&mut self, clause: Clause<'v>) {
        if clause.after_stop {
            self.stop();
        }
        let backward = self.is_backward(&clause.items);
        let items = clause.items;
        let places: Vec<usize> =
            (0..items.len()).filter(|&at| matches!(items[at], Item::Places(_))).collect();
        let mut here: Option<Vec<Phrase<'v>>> = None;
        let mut items: Vec<Option<Item<'v>>> = items.into_iter().map(Some).collect();
        let mut first = true;
        for at in 0..items.len() {
            match items[at].take() {
                Some(Item::Places(phrases)) => {
                    self.named(&phrases);
                    here = Some(phrases);
                }
                Some(Item::Run(run)) => {
                    let next = places.iter().copied().find(|&place| place > at);
                    let looks_ahead = next == Some(at + 1) && !run.says.is_empty();
                    let to_next = looks_ahead && (backward || run.preposition || (first && here.is_none() && !self.placed));
                    if to_next && let Some(Some(Item::Places(phrases))) = items.get(at + 1) {
                        let phrases = phrases.clone();
                        self.run(run, Some(&phrases), first);
                    } else {
                        self.run(run, here.as_deref(), first);
                    }
                }
                None => {}
            }
            first = false;
        }
        self.leave(here, &places, items.len());
    }

    /// Findings come before their places throughout: "heat in the LF fetlock, mild effusion RH hock".
    fn is_backward(&self, items: &[Item<'v>]) -> bool {
        let says = |item: &Item<'v>| matches!(item, Item::Run(run) if !run.says.is_empty());
        let first = items.iter().find(|item| says(item) || matches!(item, Item::Places(_)));
        let last = items.iter().rev().find(|item| says(item) || matches!(item, Item::Places(_)));
        first.is_some_and(says) && matches!(last, Some(Item::Places(_)))
    }

    /// A full stop ends lists and waiting places; the place itself carries on.
    fn stop(&mut self) {
        self.listing = false;
        self.not = None;
        self.afresh = true;
        self.waiting.clear();
    }

    /// Remembers that a place was named.
    fn named(&mut self, phrases: &[Phrase<'v>]) {
        self.listing = false;
        if phrases.iter().any(|phrase| phrase.spot.is_some()) {
            self.afresh = false;
        }
        self.placed |= phrases.iter().any(|phrase| !phrase.is_empty());
    }

    /// A clause that only names places waits for what is said of them.
    fn leave(&mut self, here: Option<Vec<Phrase<'v>>>, places: &[usize], items: usize) {
        let Some(phrases) = here else { return };
        if places.last() == Some(&(items - 1)) && self.last_is_unsaid(&phrases) {
            self.waiting.extend(phrases);
        }
    }

    fn last_is_unsaid(&self, phrases: &[Phrase<'v>]) -> bool {
        let from = |phrase: &Phrase<'v>| phrase.of.first().map(|piece| piece.from);
        let Some(first) = phrases.first() else { return false };
        !self.bound.last().is_some_and(|bound| bound.phrases.iter().any(|phrase| from(phrase) == from(first)))
    }

    fn run(&mut self, mut run: Run<'v>, phrases: Option<&[Phrase<'v>]>, first: bool) {
        self.lead(&mut run, first);
        let phrases = self.with_waiting(phrases, run.says.is_empty());
        self.loose(&mut run, &phrases);
        self.listing = run.says.last().is_some_and(|say| say.negated);
        if run.open_not.is_some() {
            self.not.clone_from(&run.open_not);
        }
        for say in run.says {
            self.bound.push(Bound { say, phrases: phrases.clone(), afresh: self.afresh });
        }
    }

    /// The waiting places join those of this clause; a limb alone only tells the others where they are.
    fn with_waiting(&mut self, phrases: Option<&[Phrase<'v>]>, nothing_said: bool) -> Vec<Phrase<'v>> {
        let own = phrases.unwrap_or_default().to_vec();
        if nothing_said || self.waiting.is_empty() {
            return own;
        }
        let mut all = std::mem::take(&mut self.waiting);
        let lone_limb = all.len() == 1 && all[0].spot.is_none();
        if let [first, ..] = own.as_slice()
            && lone_limb
        {
            let limb = &all[0];
            if first.names_limb() {
                return own;
            }
            let mut own = own;
            for phrase in &mut own {
                if !phrase.names_limb() {
                    (phrase.limbs, phrase.sides, phrase.pair) = (limb.limbs.clone(), limb.sides.clone(), limb.pair);
                }
            }
            own[0].of.extend(limb.of.iter().cloned());
            return own;
        }
        all.extend(own);
        for at in 1..all.len() {
            if !all[at].names_limb() {
                let before = all[at - 1].clone();
                (all[at].limbs, all[at].sides, all[at].pair) = (before.limbs, before.sides, before.pair);
            }
        }
        all
    }

    /// What stood before the place, or in the clause before, reaches the first finding of the run.
    fn lead(&mut self, run: &mut Run<'v>, first: bool) {
        let continues = self.listing && first && !run.begins_with_not && !run.but;
        let ends_with_or = run.says.iter().any(|say| say.joined == Joined::Or) || run.begins_with_join == Joined2::Or;
        if let Some(say) = run.says.first_mut() {
            if let Some(not) = self.not.take() {
                say.negated = true;
                say.of.push(not);
            } else if continues && say.grade.is_none() && (!say.says_so || ends_with_or) && lists(say) {
                say.negated = true;
            }
            if say.grade.is_none() && takes_grade(&say.what)
                && let Some(grade) = self.grade.take()
            {
                say.of.extend(grade.of.iter().cloned());
                say.grade = Some(grade);
            }
        }
        // "no heat, pain and swelling": the list goes on within this clause too.
        for at in 1..run.says.len() {
            let (before, rest) = run.says.split_at_mut(at);
            let (Some(last), Some(say)) = (before.last(), rest.first_mut()) else { continue };
            if last.negated && continues && say.joined != Joined::No && say.grade.is_none() {
                say.negated = true;
            }
        }
    }

    /// Grades, measures and "none" without a finding beside them belong to the last one, or wait for the next.
    fn loose(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>]) {
        if let Some(piece) = run.loose_absent.take() {
            self.deny_last(piece);
        }
        if let Some((mm, of)) = run.loose_mm.take()
            && let Some(bound) = self.bound.last_mut()
        {
            bound.say.mm = Some(mm);
            bound.say.of.extend(of);
        }
        if let Some((aspect, piece)) = run.loose_aspect.take()
            && let Some(bound) = self.bound.last_mut().filter(|bound| bound.say.aspect.is_none())
        {
            bound.say.aspect = Some(aspect);
            bound.say.of.push(piece);
        }
        if let Some(grade) = run.loose_grade.take() {
            self.loose_grade(grade, run, phrases);
        }
    }

    fn loose_grade(&mut self, grade: Grading<'v>, run: &mut Run<'v>, phrases: &[Phrase<'v>]) {
        let other_limb = phrases.first().is_some_and(|phrase| phrase.names_limb() && phrase.spot.is_none());
        let same_phrases = self.bound.last().is_some_and(|bound| {
            let from = |phrases: &[Phrase<'v>]| phrases.first().and_then(|p| p.of.first()).map(|piece| piece.from);
            from(&bound.phrases) == from(phrases) || phrases.is_empty()
        });
        let open = |bound: &&mut Bound<'v>| {
            bound.say.grade.is_none() && !bound.say.negated && takes_grade(&bound.say.what)
        };
        if same_phrases && let Some(bound) = self.bound.last_mut().filter(open) {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade);
        } else if other_limb && run.says.is_empty()
            && let Some(bound) = self.bound.last()
            && takes_grade(&bound.say.what)
        {
            // "LF fetlock effusion 2, RF 1": the same finding on the other limb.
            let mut say = bound.say.clone();
            let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
            say.of.clone_from(&grade.of);
            say.grade = Some(grade);
            say.negated = false;
            let mut phrases = phrases.to_vec();
            for phrase in &mut phrases {
                phrase.spot.clone_from(&spot);
            }
            self.bound.push(Bound { say, phrases, afresh: false });
        } else {
            self.grade = Some(grade);
        }
    }

    fn deny_last(&mut self, piece: Piece<'v>) {
        if let Some(bound) = self.bound.last_mut().filter(|bound| bound.say.grade.is_none()) {
            bound.say.negated = true;
            bound.say.of.push(piece);
        }
    }

    pub(super) fn finish(self) {
        // Places that nothing was said of still carry on to what comes after this part.
        let waiting = self.waiting;
        record::all(self.scene, self.bound);
        record::carry(self.scene, &waiting);
    }
}

/// Whether a thing can stand in a list of things that are not there.
fn lists(say: &Say<'_>) -> bool {
    matches!(say.what, What::Finding(_) | What::Sign { .. })
}
