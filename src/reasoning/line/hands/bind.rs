//! Which place each finding belongs to: the one named before it, or the one named after it.

use std::sync::Arc;

use super::{
    Clause, Item,
    again::is_both,
    goes_with::hurts_bent,
    order::{Flow, grades_lead, is_backward, is_other_limb, same, says, says_more, within},
    record::{self, Bound, Carry, Entry},
    say::{Joined, Run, Say, Strange, What, takes_grade},
};
use crate::{
    catalogue::words::{Meaning, Spot},
    reasoning::line::{graded::Grading, piece::Piece, place::Phrase, scene::Scene},
};

/// Goes through the clauses and keeps what carries over from one to the next.
pub(super) struct Binder<'s, 'v> {
    pub(super) scene: &'s mut Scene<'v>,
    pub(super) entries: Vec<Entry<'v>>,
    /// Places named without a finding so far: "LF fetlock, pastern and coffin joint NAD".
    pub(super) waiting: Vec<Phrase<'v>>,
    /// A list of things that are not there may go on in the next clause.
    pub(super) listing: bool,
    /// "no" that stands before the place: "no LF fetlock effusion".
    pub(super) not: Option<Piece<'v>>,
    /// A grade that stands before the place, or after one of which nothing was said.
    pub(super) grade: Option<Grading<'v>>,
    /// The place before that grade.
    pub(super) graded: Vec<Phrase<'v>>,
    pub(super) named: Named,
    /// "the rest of" that stands before the limb.
    pub(super) rest: Option<Piece<'v>>,
    /// "passive flexion of the carpus is painful": said before the joint.
    pub(super) bends: Option<Piece<'v>>,
    /// A size before anything was found: "tendon, 15 mm, thickened".
    pub(super) mm: Option<(f64, Vec<Piece<'v>>)>,
    /// "cool and tight" before anything was found.
    pub(super) qualities: Vec<Piece<'v>>,
    /// Where the last clause that said something began.
    pub(super) before: usize,
    /// A full stop stands between the last region and here.
    pub(super) afresh: bool,
    /// "stifle: medial, effusion mild": the direction stands before what it speaks of.
    pub(super) aspect: Option<(String, Piece<'v>)>,
    /// What the last clause said of the place after it, from this entry on: "effusion in the coffin joint, fetlock".
    pub(super) listed: Option<usize>,
}

impl<'s, 'v> Binder<'s, 'v> {
    pub(super) fn new(scene: &'s mut Scene<'v>) -> Self {
        let context = &scene.context;
        let named = match (context.limbs.is_empty() && context.sides.is_empty(), &context.spot) {
            (false, _) => Named::Limb,
            (true, Some(_)) => Named::Place,
            (true, None) => Named::Nothing,
        };
        Self {
            scene,
            entries: Vec::new(),
            waiting: Vec::new(),
            listing: false,
            not: None,
            grade: None,
            graded: Vec::new(),
            named,
            rest: None,
            bends: None,
            mm: None,
            qualities: Vec::new(),
            before: 0,
            afresh: false,
            aspect: None,
            listed: None,
        }
    }

    /// The place that was named last.
    pub(super) fn carried(&self) -> Option<Arc<Spot>> {
        self.scene.context.spot.clone()
    }

    pub(super) fn clause(&mut self, clause: &Clause<'v>) {
        if clause.after_stop {
            self.stop();
        }
        self.not = None;
        if self.turns(clause) {
            return;
        }
        let items = &clause.items;
        self.listing &= !self.is_apart(items);
        let says_nothing = !items.iter().any(says);
        // "effusion palpable, LF 2": the grade's limb may be that of the clause before.
        let graded = says_nothing && items.iter().any(|item| matches!(item, Item::Run(_)));
        let from = if graded && !clause.after_stop { self.before } else { self.entries.len() };
        let backward = is_backward(items) || (says_nothing && grades_lead(items));
        let limbed = self.named == Named::Limb;
        if !says_nothing {
            self.before = self.entries.len();
            self.listed = backward.then_some(from);
        }
        let listed = self.listing && backward;
        let apart = clause.after_stop || clause.heads;
        // Sides after what was found: "sore on the right, no pain on the left".
        let mut trails = false;
        let mut here: Option<Vec<Phrase<'v>>> = None;
        for (at, item) in items.iter().enumerate() {
            match item {
                Item::Places(phrases) => {
                    let more = says_more(&items[at + 1..]);
                    if self.is_of_several(items, at, phrases, more) {
                        continue;
                    }
                    if listed {
                        // "left fore: no heat, swelling or pain of the SDFT"
                        self.place_denied(phrases);
                    }
                    // Where no limb was named, a side is that of what was found right before it.
                    let after_says =
                        at > 0 && says(&items[at - 1]) && is_other_limb(phrases) && self.named != Named::Limb;
                    let refined =
                        if (more && !after_says) || backward { None } else { self.refine(phrases, from) };
                    trails |= refined.is_some() && after_says;
                    here = Some(refined.unwrap_or_else(|| {
                        self.named(phrases);
                        phrases.clone()
                    }));
                }
                Item::Run(run) => {
                    let next = self.ahead(items, at, Flow { backward, trails });
                    let more = matches!(items.get(at + 1), Some(Item::Places(next)) if have_spot(next))
                        && items[at + 1..].iter().any(says);
                    let within = Within { first: at == 0, more, apart };
                    self.run_between(run.clone(), here.as_deref(), next, within);
                }
            }
        }
        self.denied(items.last());
        if clause.heads && says_nothing {
            here.iter_mut().flatten().for_each(|phrase| phrase.heads = true);
        }
        if says_nothing && self.listed.is_some() && is_within_said(items) {
            self.say_where(here);
            return;
        }
        self.leave(here.filter(|here| !is_both_signs(here, items)), limbed);
    }

    /// A run that stands between the place before it and the one that it speaks of.
    fn run_between(
        &mut self,
        mut run: Run<'v>,
        here: Option<&[Phrase<'v>]>,
        next: Option<&[Phrase<'v>]>,
        within_clause: Within,
    ) {
        let next = next.map(|next| within(next, here));
        if let (Some(here), Some(next)) = (here, &next)
            && have_spot(here)
            && have_spot(next)
            && let Some(before) = run.before_last()
        {
            // "coffin joint effusion two, nothing in the pastern" without the pause.
            self.run(before, Some(here), within_clause);
        }
        self.run(run, next.as_deref().or(here), within_clause);
    }

    /// "pus from the coronet, right fore, at the heel": only says more exactly where.
    fn say_where(&mut self, here: Option<Vec<Phrase<'v>>>) {
        if let (Some(bound), Some(phrases)) = (self.last(), here) {
            bound.say.of.extend(phrases.into_iter().flat_map(|phrase| phrase.of));
        }
    }

    /// A full stop ends lists and waiting places; the place itself carries on.
    pub(super) fn stop(&mut self) {
        self.fills();
        self.end_of_list();
        self.listing = false;
        self.not = None;
        self.aspect = None;
        self.afresh = true;
        self.waiting.clear();
    }

    pub(super) fn said(&mut self) -> impl Iterator<Item = &mut Bound<'v>> {
        self.entries.iter_mut().rev().filter_map(|entry| match entry {
            Entry::Said(bound) => Some(bound.as_mut()),
            Entry::Named(_) => None,
        })
    }

    pub(super) fn last(&mut self) -> Option<&mut Bound<'v>> {
        self.said().next()
    }

    /// Remembers that a place was named; what was said before any place was belongs to it.
    pub(super) fn named(&mut self, phrases: &[Phrase<'v>]) {
        self.listing &= self.named == Named::Nothing;
        if phrases.iter().any(|phrase| phrase.spot.is_some()) {
            self.afresh = false;
        }
        if self.named == Named::Nothing {
            for bound in self.said().filter(|bound| bound.phrases.is_empty()) {
                bound.phrases = phrases.to_vec();
            }
        }
        for phrase in phrases.iter().filter(|phrase| !phrase.is_empty()) {
            self.named = self.named.max(if phrase.names_limb() { Named::Limb } else { Named::Place });
        }
        if !self.entries.is_empty() {
            self.aspect = None;
        }
        self.entries.extend(phrases.iter().cloned().map(|phrase| Entry::Named(Box::new(phrase))));
    }

    pub(super) fn run(&mut self, mut run: Run<'v>, phrases: Option<&[Phrase<'v>]>, within: Within) {
        if phrases.is_some_and(|phrases| !same(phrases, &self.graded)) {
            self.fills();
        }
        self.lead(&mut run, within.first);
        self.sound_too(&run);
        let phrases = self.with_waiting(phrases, run.says.is_empty());
        let mut phrases = phrases;
        if phrases.is_empty() && !run.says.is_empty() && run.strange == Strange::None && !run.but {
            phrases = self.together().unwrap_or_default();
        }
        let graded = run.loose_grade.is_some();
        self.loose(&mut run, &phrases, within);
        self.direct(&mut run, &phrases);
        self.listing = run.says.last().map_or(self.listing && run.says.is_empty(), |say| say.negated);
        if let Some(rest) = run.loose_rest.take() {
            self.rest = Some(rest);
        }
        for say in &mut run.says {
            if let What::Nad { rest } = &mut say.what
                && let Some(word) = self.rest.take()
            {
                *rest = word.is(|m| matches!(m, Meaning::Rest));
                say.of.push(word);
            }
        }
        self.bends = run.loose_bends.take().or(self.bends.take());
        if run.open_not.is_some() {
            self.not.clone_from(&run.open_not);
        }
        let mut first = true;
        for mut say in run.says {
            if let ([limb], What::Nad { .. }) = (phrases.as_slice(), &say.what)
                && self.limbs_before(limb)
            {
                // "apart from a mild effusion of the fetlock, the right forelimb is unremarkable"
                self.all_on(limb);
            }
            if matches!(say.what, What::Nad { rest: false }) && self.calms(&mut say, &phrases) {
                let bound = Bound { say, phrases: phrases.clone(), carry: Carry::On };
                self.entries.push(Entry::Said(Box::new(bound)));
                continue;
            }
            let nad = matches!(say.what, What::Nad { rest: false });
            if nad && self.answers(&say, &phrases) || self.answered(&mut say, &phrases) {
                continue;
            }
            let carry = self.carry(&say, run.strange, &phrases);
            let all = say.of_all && (!first || graded || phrases.is_empty());
            first = false;
            let carry = if all { Carry::All } else { carry };
            let bound = Bound { say, phrases: phrases.clone(), carry };
            self.entries.push(Entry::Said(Box::new(bound)));
        }
    }

    /// "wall, sole and frog normal": the last word names its place itself, and speaks for those before it.
    fn sound_too(&mut self, run: &Run<'v>) {
        let [say] = run.says.as_slice() else { return };
        let waits =
            self.waiting.iter().all(|phrase| phrase.spot.as_ref().is_some_and(|spot| !spot.foot.is_empty()));
        if !(matches!(say.what, What::Pick { normal: true, .. }) && run.joins && waits) {
            return;
        }
        for phrase in std::mem::take(&mut self.waiting) {
            let say = Say { of: phrase.of.clone(), ..Say::new(What::Nad { rest: false }, Vec::new()) };
            self.entries.push(Entry::Said(Box::new(Bound { say, phrases: vec![phrase], carry: Carry::On })));
        }
    }

    /// Whether the place before holds for what is said; a strange word before it may have been a place.
    pub(super) fn carry(&self, say: &Say<'v>, strange: Strange, phrases: &[Phrase<'v>]) -> Carry {
        let placed = phrases.iter().any(|phrase| phrase.spot.is_some());
        let nothing_found = matches!(say.what, What::Nad { .. });
        match strange {
            Strange::Word if nothing_found && !placed => Carry::Nothing,
            Strange::Capitals if !placed => Carry::Nothing,
            _ if self.afresh => Carry::Afresh,
            _ => Carry::On,
        }
    }

    /// What stood before the place, or in the clause before, reaches the first finding of the run.
    pub(super) fn lead(&mut self, run: &mut Run<'v>, first: bool) {
        let continues = self.listing && first && !run.begins_with_not && !run.but;
        let ends_with_or = run.begins_with_or || run.says.iter().any(|say| say.joined == Joined::Or);
        let mut denied = false;
        if let Some(say) = run.says.first_mut() {
            if let Some(not) = self.not.take() {
                say.negated = true;
                say.of.push(not);
                denied = true;
            } else if continues
                && !say.affirmed
                && say.grade.is_none()
                && (!say.says_so || ends_with_or)
                && lists(say)
            {
                say.negated = true;
            }
            if let Some(bends) =
                self.bends.take().filter(|_| matches!(&say.what, What::Finding(code) if code == "PAIN"))
            {
                hurts_bent(say, &bends);
            }
            if let Some((mm, of)) = self.mm.take().filter(|_| say.mm.is_none()) {
                say.mm = Some(mm);
                say.of.extend(of);
            }
            if say.grade.is_none()
                && takes_grade(&say.what)
                && let Some(grade) = self.grade.take()
            {
                say.of.extend(grade.of.iter().cloned());
                say.grade = Some(grade);
            }
        }
        // "no heat, pain and swelling": the list goes on within this clause too.
        for at in 1..run.says.len() {
            let (before, rest) = run.says.split_at_mut(at);
            if let (Some(last), Some(say)) = (before.last(), rest.first_mut()) {
                let listed = continues && say.joined != Joined::No || denied && say.joined == Joined::Or;
                say.negated |= last.negated && listed && say.grade.is_none();
            }
        }
    }

    pub(super) fn finish(mut self) {
        self.fills();
        self.end_of_list();
        record::all(self.scene, self.entries);
    }
}

/// "swollen and painful, both marked": of two signs, and of nothing that comes.
fn is_both_signs(here: &[Phrase<'_>], items: &[Item<'_>]) -> bool {
    is_both(here) && items.iter().any(|item| matches!(item, Item::Run(_)))
}

fn have_spot(phrases: &[Phrase<'_>]) -> bool {
    phrases.iter().any(|phrase| phrase.spot.is_some())
}

/// A place alone, with a preposition before it and no limb.
fn is_within_said(items: &[Item<'_>]) -> bool {
    let [Item::Run(run), Item::Places(phrases)] = items else { return false };
    run.preposition
        && !run.joins
        && phrases.iter().all(|phrase| phrase.spot.is_some() && !phrase.names_limb())
}

/// What was named so far in the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Named {
    Nothing,
    Place,
    /// A limb or a side.
    Limb,
}

/// Where in its clause a run stands.
#[derive(Clone, Copy)]
pub(super) struct Within {
    pub(super) first: bool,
    /// Another place is named after it in the clause, and something said of that.
    pub(super) more: bool,
    /// A full stop stands before the clause, or a colon or a dash after it.
    pub(super) apart: bool,
}

/// Whether a thing can stand in a list of things that are not there.
pub(super) fn lists(say: &Say<'_>) -> bool {
    match &say.what {
        // "no heat, no pain, old scar", "no effusion, reduced range of flexion"
        What::Finding(code) => {
            !["SCAR", "WOND", "FIBR", "ROMR"].contains(&code.as_str()) || say.joined == Joined::Or
        }
        What::Sign { .. } => true,
        _ => false,
    }
}
