//! Which place each finding belongs to: the one named before it, or the one named after it.

use std::sync::Arc;

use super::{
    Clause, Item,
    record::{self, Bound, Carry, Entry},
    run::{Joined, Run, Say, Strange, What, takes_grade},
};
use crate::{
    catalogue::words::{Meaning, Spot},
    reasoning::line::{graded::Grading, piece::Piece, place::Phrase, scene::Scene},
};

/// Goes through the clauses and keeps what carries over from one to the next.
pub(super) struct Binder<'s, 'v> {
    scene: &'s mut Scene<'v>,
    entries: Vec<Entry<'v>>,
    /// Places named without a finding so far: "LF fetlock, pastern and coffin joint NAD".
    waiting: Vec<Phrase<'v>>,
    /// A list of things that are not there may go on in the next clause.
    listing: bool,
    /// "no" that stands before the place: "no LF fetlock effusion".
    not: Option<Piece<'v>>,
    /// A grade that stands before the place.
    grade: Option<Grading<'v>>,
    named: Named,
    /// "the rest of" that stands before the limb.
    rest: Option<Piece<'v>>,
    /// "cool and tight" before anything was found.
    qualities: Vec<Piece<'v>>,
    /// Where the last clause that said something began.
    before: usize,
    /// A full stop stands between the last region and here.
    afresh: bool,
    /// "stifle: medial, effusion mild": the direction stands before what it speaks of.
    aspect: Option<(String, Piece<'v>)>,
    /// What the last clause said of the place after it, from this entry on: "effusion in the coffin joint, fetlock".
    listed: Option<usize>,
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
            named,
            rest: None,
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
        let items = &clause.items;
        let says_nothing = !items.iter().any(says);
        // "effusion palpable, LF 2": the grade's limb may be that of the clause before.
        let graded = says_nothing && items.iter().any(|item| matches!(item, Item::Run(_)));
        let from = if graded && !clause.after_stop { self.before } else { self.entries.len() };
        if !says_nothing {
            self.before = self.entries.len();
        }
        let backward = is_backward(items);
        let limbed = self.named == Named::Limb;
        if !says_nothing {
            self.listed = backward.then_some(from);
        }
        let mut here: Option<Vec<Phrase<'v>>> = None;
        for (at, item) in items.iter().enumerate() {
            let first = at == 0;
            match item {
                Item::Places(phrases) => {
                    let more = items[at + 1..].iter().any(says);
                    let refined = if more || backward { None } else { self.refine(phrases, from) };
                    here = Some(refined.unwrap_or_else(|| {
                        self.named(phrases);
                        phrases.clone()
                    }));
                }
                Item::Run(run) => {
                    let next = match items.get(at + 1) {
                        Some(Item::Places(phrases)) if !run.says.is_empty() => Some(phrases.as_slice()),
                        _ => None,
                    };
                    let ahead = backward || run.preposition || (first && self.named == Named::Nothing);
                    let next = next.filter(|_| ahead).map(|next| within(next, here.as_deref()));
                    let more = items[at + 1..].iter().any(says);
                    let phrases = next.as_deref().or(here.as_deref());
                    self.run(run.clone(), phrases, Within { first, more, after_stop: clause.after_stop });
                }
            }
        }
        self.leave(here, limbed);
    }

    /// A full stop ends lists and waiting places; the place itself carries on.
    fn stop(&mut self) {
        self.end_of_list();
        self.listing = false;
        self.not = None;
        self.aspect = None;
        self.afresh = true;
        self.waiting.clear();
    }

    /// Places that still wait go on with the list of those that something was said of before they were named.
    fn end_of_list(&mut self) {
        let Some(from) = self.listed.take() else { return };
        let said: Vec<(Say<'v>, Option<Phrase<'v>>)> = (self.entries.get(from..).into_iter().flatten())
            .filter_map(|entry| match entry {
                Entry::Said(bound) => Some((bound.say.clone(), bound.phrases.last().cloned())),
                Entry::Named(_) => None,
            })
            .collect();
        for mut phrase in std::mem::take(&mut self.waiting).into_iter().filter(|phrase| phrase.spot.is_some())
        {
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

    fn said(&mut self) -> impl Iterator<Item = &mut Bound<'v>> {
        self.entries.iter_mut().rev().filter_map(|entry| match entry {
            Entry::Said(bound) => Some(bound.as_mut()),
            Entry::Named(_) => None,
        })
    }

    fn last(&mut self) -> Option<&mut Bound<'v>> {
        self.said().next()
    }

    /// A place after what was said of a wider one, or of one without a limb, says which: "fetlock warm, LF".
    /// Gives the places as they then stand.
    fn refine(&mut self, phrases: &[Phrase<'v>], from: usize) -> Option<Vec<Phrase<'v>>> {
        let [said] = phrases else { return None };
        let mut refined = None;
        for entry in self.entries.get_mut(from..).into_iter().flatten() {
            let Entry::Said(bound) = entry else { continue };
            if bound.phrases.is_empty() && said.spot.is_none() && has_own_spot(&bound.say) {
                bound.phrases.push(Phrase::default());
            }
            for phrase in &mut bound.phrases {
                if narrows(said, phrase) {
                    refined = Some(());
                    take_over(phrase, said);
                }
            }
        }
        refined?;
        self.last().map(|bound| bound.phrases.clone())
    }

    /// Remembers that a place was named; what was said before any place was belongs to it.
    fn named(&mut self, phrases: &[Phrase<'v>]) {
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

    /// A clause that only names places waits for what is said of them.
    fn leave(&mut self, here: Option<Vec<Phrase<'v>>>, limbed: bool) {
        let Some(phrases) = here else { return };
        if self.last().is_some_and(|bound| ends_same(&bound.phrases, &phrases)) {
            return;
        }
        if let [narrow] = phrases.as_slice()
            && let Some(bound) = self.last()
            && let [wide] = bound.phrases.as_mut_slice()
            && is_open(&bound.say.what, wide)
            && narrow.spot.is_some()
            && narrows(narrow, wide)
        {
            // "neck: reduced range of motion, mid neck".
            take_over(wide, narrow);
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
        if self.is_again(&phrases)
            && let Some(grade) = self.grade.take()
        {
            let of = grade.of.clone();
            self.again(Some(grade), of, &phrases);
            return;
        }
        self.waiting.extend(phrases);
    }

    /// "elbow swollen, knee effusion 1, near fore": the limb at the end is that of all that was said before it.
    fn all_on(&mut self, limb: &Phrase<'v>) {
        for bound in self.said() {
            if bound.phrases.is_empty() {
                bound.phrases.push(Phrase::default());
            }
            for phrase in bound.phrases.iter_mut().filter(|phrase| narrows(limb, phrase)) {
                take_over(phrase, limb);
            }
        }
    }

    fn run(&mut self, mut run: Run<'v>, phrases: Option<&[Phrase<'v>]>, within: Within) {
        self.lead(&mut run, within.first);
        let phrases = self.with_waiting(phrases, run.says.is_empty());
        self.loose(&mut run, &phrases, within);
        self.direct(&mut run);
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
        if run.open_not.is_some() {
            self.not.clone_from(&run.open_not);
        }
        for mut say in run.says {
            if let ([limb], What::Nad { .. }) = (phrases.as_slice(), &say.what)
                && is_other_limb(&phrases)
            {
                // "apart from a mild effusion of the fetlock, the right forelimb is unremarkable"
                self.all_on(limb);
            }
            if matches!(say.what, What::Nad { rest: false }) && self.calms(&mut say, &phrases) {
                let bound = Bound { say, phrases: phrases.clone(), carry: Carry::On };
                self.entries.push(Entry::Said(Box::new(bound)));
                continue;
            }
            let carry = self.carry(&say, run.strange, &phrases);
            let bound = Bound { say, phrases: phrases.clone(), carry };
            self.entries.push(Entry::Said(Box::new(bound)));
        }
    }

    /// "left fore pulse one plus, right normal": the pulse of the other is meant, not the limb.
    fn calms(&mut self, nad: &mut Say<'v>, phrases: &[Phrase<'v>]) -> bool {
        let afresh = self.afresh;
        let Some(bound) = self.last().filter(|_| !afresh && is_other_limb(phrases)) else { return false };
        let own = matches!(&bound.say.what, What::Sign { code, .. } if code == "PULS" || code == "HTMP")
            || matches!(bound.say.what, What::Testers(_));
        if own {
            let of = std::mem::take(&mut nad.of);
            *nad = Say { grade: None, negated: true, of, ..bound.say.clone() };
        }
        own
    }

    /// Whether the place before holds for what is said; a strange word before it may have been a place.
    fn carry(&self, say: &Say<'v>, strange: Strange, phrases: &[Phrase<'v>]) -> Carry {
        let placed = phrases.iter().any(|phrase| phrase.spot.is_some());
        let nothing_found = matches!(say.what, What::Nad { .. });
        match strange {
            Strange::Word if nothing_found && !placed => Carry::Nothing,
            Strange::Capitals if !placed => Carry::Nothing,
            _ if self.afresh => Carry::Afresh,
            _ => Carry::On,
        }
    }

    /// The waiting places join those of this clause; a limb alone only tells the others where they are.
    fn with_waiting(&mut self, phrases: Option<&[Phrase<'v>]>, nothing_said: bool) -> Vec<Phrase<'v>> {
        let mut own = phrases.unwrap_or_default().to_vec();
        if nothing_said || self.waiting.is_empty() {
            return own;
        }
        let mut all = std::mem::take(&mut self.waiting);
        if let ([own], [place]) = (own.as_mut_slice(), all.as_slice())
            && own.spot.is_none()
            && place.spot.is_some()
            && (place.down || own.names_limb() && is_pair(place) || !place.names_limb())
        {
            // "back: spasm on the left", "hind suspensory branches: LH painful", "from the left knee down, the limb".
            if place.down {
                copy_limb(own, place);
            }
            own.spot.clone_from(&place.spot);
            own.down = place.down;
            own.of.extend(place.of.iter().cloned());
            return vec![own.clone()];
        }
        if let ([own], [wide]) = (own.as_mut_slice(), all.as_slice())
            && is_within(own, wide)
        {
            // "LF suspensory: origin painful".
            if !own.names_limb() {
                copy_limb(own, wide);
            }
            own.of.extend(wide.of.iter().cloned());
            return vec![own.clone()];
        }
        if let (false, [limb]) = (own.is_empty(), all.as_slice())
            && limb.spot.is_none()
        {
            if !own[0].names_limb() {
                own.iter_mut()
                    .filter(|phrase| !phrase.names_limb())
                    .for_each(|phrase| copy_limb(phrase, limb));
                own[0].of.extend(limb.of.iter().cloned());
            }
            return own;
        }
        if let ([wide], [narrow, ..]) = (all.as_slice(), own.as_mut_slice())
            && wide.spot.is_some()
            && narrows(narrow, wide)
        {
            // "stifle: femoropatellar joint distended"
            if !narrow.names_limb() {
                copy_limb(narrow, wide);
            }
            narrow.of.extend(wide.of.iter().cloned());
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

    /// What stood before the place, or in the clause before, reaches the first finding of the run.
    fn lead(&mut self, run: &mut Run<'v>, first: bool) {
        let continues = self.listing && first && !run.begins_with_not && !run.but;
        let ends_with_or = run.begins_with_or || run.says.iter().any(|say| say.joined == Joined::Or);
        if let Some(say) = run.says.first_mut() {
            if let Some(not) = self.not.take() {
                say.negated = true;
                say.of.push(not);
            } else if continues && say.grade.is_none() && (!say.says_so || ends_with_or) && lists(say) {
                say.negated = true;
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
                say.negated |= last.negated && continues && say.joined != Joined::No && say.grade.is_none();
            }
        }
    }

    /// Grades, measures and "none" without a finding beside them belong to the last one, or wait for the next.
    fn loose(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>], within: Within) {
        if let Some(piece) = run.loose_positive.take() {
            if run.says.is_empty() {
                self.again_found(piece, phrases);
            } else {
                run.loose_qualities.push(piece);
            }
        }
        // "left moderate, right none": the other limb was looked at too.
        let elsewhere = run.says.is_empty() && run.loose_sites.is_empty() && self.is_again(phrases);
        if let Some(piece) = run.loose_absent.take_if(|_| elsewhere) {
            self.again(None, vec![piece], phrases);
        }
        self.loose_sites(run, phrases);
        if let Some(piece) = run.loose_absent.take()
            && let Some(bound) = self.last().filter(|bound| bound.say.grade.is_none())
        {
            bound.say.negated = true;
            bound.say.of.push(piece);
        }
        if let Some((mm, of)) = run.loose_mm.take()
            && let Some(say) = self.last().map(|bound| &mut bound.say).or(run.says.first_mut())
        {
            say.mm = Some(mm);
            say.of.extend(of);
        }
        if let Some((aspect, piece)) = run.loose_aspect.take() {
            let of_last = self.last().is_some_and(|bound| same(&bound.phrases, phrases));
            let named = matches!(self.entries.last(), None | Some(Entry::Named(_)));
            let leads = within.after_stop || (named && !of_last);
            if leads && run.says.is_empty() {
                self.aspect = Some((aspect, piece));
            } else {
                self.loose_aspect(&aspect, piece);
            }
        }
        let mut qualities = std::mem::take(&mut self.qualities);
        qualities.append(&mut run.loose_qualities);
        match (run.says.first_mut(), self.last()) {
            (_, Some(bound)) => bound.say.of.extend(qualities),
            (Some(say), None) => say.of.extend(qualities),
            (None, None) => self.qualities = qualities,
        }
        if let Some(grade) = run.loose_grade.take() {
            self.loose_grade(grade, run, phrases, within);
        }
    }

    /// The direction that stood before the run reaches what is said in it.
    fn direct(&mut self, run: &mut Run<'v>) {
        let Some((aspect, piece)) = &self.aspect else { return };
        for say in run.says.iter_mut().filter(|say| say.aspect.is_none()) {
            say.aspect = Some(aspect.clone());
            say.of.push(piece.clone());
        }
    }

    /// "the RF suspensory branch, medial": of everything that was said of that place.
    fn loose_aspect(&mut self, aspect: &str, piece: Piece<'v>) {
        let Some(phrases) = self.last().map(|bound| bound.phrases.clone()) else { return };
        let mut piece = Some(piece);
        for bound in self.said().take_while(|bound| same(&bound.phrases, &phrases)) {
            if bound.say.aspect.is_none() && !matches!(bound.say.what, What::Nad { .. }) {
                bound.say.aspect = Some(aspect.to_owned());
                bound.say.of.extend(piece.take());
            }
        }
    }

    /// More sites after the testers were spoken of: each is an answer of its own.
    fn loose_sites(&mut self, run: &mut Run<'v>, here: &[Phrase<'v>]) {
        for (site, piece) in std::mem::take(&mut run.loose_sites) {
            let denied = run.loose_absent.take();
            let grade = run.loose_grade.take();
            let Some(bound) = self.last().filter(|bound| matches!(bound.say.what, What::Testers(_))) else {
                return;
            };
            let fresh = bound.say.sites.is_empty() && bound.say.grade.is_none() && !bound.say.negated;
            let mut say = bound.say.clone();
            let moved = is_other_limb(here) && !same(&bound.phrases, here);
            let phrases = if moved { here.to_vec() } else { bound.phrases.clone() };
            let fresh = fresh && !moved;
            if !fresh {
                say.of.clear();
                say.sites.clear();
                (say.grade, say.negated) = (None, false);
            }
            say.sites.push(site);
            say.of.push(piece);
            if let Some(denied) = denied {
                say.negated = true;
                say.of.push(denied);
            }
            if let Some(grade) = grade {
                say.of.extend(grade.of.iter().cloned());
                say.grade = Some(grade);
            }
            if fresh {
                bound.say = say;
            } else {
                self.entries.push(Entry::Said(Box::new(Bound { say, phrases, carry: Carry::On })));
            }
        }
    }

    fn loose_grade(&mut self, grade: Grading<'v>, run: &Run<'v>, phrases: &[Phrase<'v>], within: Within) {
        let open = |bound: &Bound<'v>| {
            bound.say.grade.is_none()
                && !bound.say.negated
                && takes_grade(&bound.say.what)
                && (phrases.is_empty() || same(&bound.phrases, phrases))
        };
        if let Some(bound) = self.last().filter(|bound| open(bound)) {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade);
            return;
        }
        if is_both(phrases) && self.both_signs(&grade) {
            return;
        }
        if self.is_again(phrases) && run.says.is_empty() && !within.more {
            let of = grade.of.clone();
            self.again(Some(grade), of, phrases);
        } else if let Some(bound) = self.open_before(phrases).filter(|_| run.says.is_empty()) {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade);
        } else {
            self.grade = Some(grade);
        }
    }

    /// "swollen and painful, both moderate": of the signs, where one limb was spoken of.
    fn both_signs(&mut self, grade: &Grading<'v>) -> bool {
        let Some(phrases) = self.last().map(|bound| bound.phrases.clone()) else { return false };
        let one_limb =
            phrases.iter().map(|phrase| phrase.limbs.len() + phrase.sides.len()).sum::<usize>() == 1;
        let open = |bound: &&mut Bound<'v>| bound.say.grade.is_none() && !bound.say.negated;
        let mut signs: Vec<&mut Bound<'v>> =
            self.said().take_while(|bound| same(&bound.phrases, &phrases)).filter(open).collect();
        if !one_limb || signs.len() != 2 {
            return false;
        }
        for bound in &mut signs {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade.clone());
        }
        true
    }

    /// Another limb, where the place is the one that something was said of last.
    fn is_again(&mut self, phrases: &[Phrase<'v>]) -> bool {
        let spot = |phrase: &Phrase<'v>| phrase.spot.as_ref().map(|spot| spot.code.clone());
        let Some(named) = phrases.first().filter(|phrase| phrase.names_limb()).map(spot) else {
            return false;
        };
        let listed = self.listed.is_some();
        let before = self.last().filter(|bound| !same(&bound.phrases, phrases));
        named.is_none() || listed || before.is_some_and(|bound| bound.phrases.last().and_then(spot) == named)
    }

    /// "soft, not painful, 1 of 3": what was denied in between takes no grade.
    fn open_before(&mut self, phrases: &[Phrase<'v>]) -> Option<&mut Bound<'v>> {
        let at = self.said().find(|bound| !bound.phrases.is_empty())?.phrases.clone();
        let here = phrases.is_empty() || same(&at, phrases);
        self.said()
            .filter(|_| here)
            .take_while(|bound| bound.phrases.is_empty() || same(&bound.phrases, &at))
            .find(|bound| !bound.say.negated)
            .filter(|bound| bound.say.grade.is_none() && takes_grade(&bound.say.what))
    }

    /// "LF fetlock effusion 2, RF 1": the same finding on the other limb, or none there.
    fn again(&mut self, grade: Option<Grading<'v>>, of: Vec<Piece<'v>>, phrases: &[Phrase<'v>]) {
        let measure = |bound: &Bound<'v>| {
            let number = grade.as_ref().filter(|grade| !grade.in_words).map(Grading::value);
            number.filter(|_| matches!(bound.say.what, What::Measure { .. }))
        };
        let suits = |bound: &&mut Bound<'v>| {
            let denies = grade.is_none() && !matches!(bound.say.what, What::Nad { .. });
            denies || takes_grade(&bound.say.what) || measure(bound).is_some()
        };
        let Some(bound) = self.last().filter(suits) else { return };
        let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
        let number = measure(bound);
        let mut say = Say { of, negated: grade.is_none(), ..bound.say.clone() };
        if say.negated {
            say.sites.clear();
        }
        if number.is_some() {
            (say.number, say.mm) = (number, None);
        } else {
            say.grade = grade;
        }
        self.entry_at(say, phrases, spot.as_ref());
    }

    /// Says it of these places; a limb alone stands for the same place there.
    fn entry_at(&mut self, say: Say<'v>, phrases: &[Phrase<'v>], spot: Option<&Arc<Spot>>) {
        let mut phrases = phrases.to_vec();
        for phrase in phrases.iter_mut().filter(|phrase| phrase.spot.is_none()) {
            phrase.spot = spot.cloned();
        }
        self.entries.push(Entry::Said(Box::new(Bound { say, phrases, carry: Carry::On })));
    }

    /// "hoof testers: left negative, right positive"
    fn again_found(&mut self, positive: Piece<'v>, phrases: &[Phrase<'v>]) {
        let Some(bound) = self.last() else { return };
        let answer = |what: &What| match what {
            What::Testers(_) => What::Testers(Some(true)),
            other => other.clone(),
        };
        if same(&bound.phrases, phrases) || phrases.is_empty() {
            bound.say.what = answer(&bound.say.what);
            bound.say.of.push(positive);
            return;
        }
        let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
        let what = answer(&bound.say.what);
        let say = Say {
            grade: None,
            negated: false,
            sites: Vec::new(),
            of: vec![positive],
            what,
            ..bound.say.clone()
        };
        self.entry_at(say, phrases, spot.as_ref());
    }

    pub(super) fn finish(mut self) {
        self.end_of_list();
        record::all(self.scene, self.entries);
    }
}

/// What was named so far in the line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Named {
    Nothing,
    Place,
    /// A limb or a side.
    Limb,
}

/// Where in its clause a run stands.
#[derive(Clone, Copy)]
struct Within {
    first: bool,
    /// Something is said after it in the clause.
    more: bool,
    after_stop: bool,
}

fn says(item: &Item<'_>) -> bool {
    matches!(item, Item::Run(run) if !run.says.is_empty())
}

/// Findings come before their places throughout: "heat in the LF fetlock, mild effusion RH hock".
fn is_backward(items: &[Item<'_>]) -> bool {
    let tells = |item: &&Item<'_>| says(item) || matches!(item, Item::Places(_));
    let (first, last) = (items.iter().find(tells), items.iter().rev().find(tells));
    first.is_some_and(says) && matches!(last, Some(Item::Places(_)))
}

/// Whether the second are the last of the first.
fn ends_same(all: &[Phrase<'_>], last: &[Phrase<'_>]) -> bool {
    all.len().checked_sub(last.len()).is_some_and(|at| same(&all[at..], last))
}

/// "left shoulder painful over the bicipital bursa": the place after is on the limb of the place before.
fn within<'v>(next: &[Phrase<'v>], here: Option<&[Phrase<'v>]>) -> Vec<Phrase<'v>> {
    let mut next = next.to_vec();
    if let (Some([here]), [one]) = (here, next.as_mut_slice())
        && !one.names_limb()
        && here.names_limb()
    {
        copy_limb(one, here);
        let of = std::mem::take(&mut one.of);
        one.of = here.of.iter().cloned().chain(of).collect();
    }
    next
}

/// Whether both are the same words of the line.
fn same(a: &[Phrase<'_>], b: &[Phrase<'_>]) -> bool {
    let from =
        |phrases: &[Phrase<'_>]| phrases.first().and_then(|phrase| phrase.of.first()).map(|piece| piece.from);
    from(a).is_some() && from(a) == from(b)
}

fn is_other_limb(phrases: &[Phrase<'_>]) -> bool {
    phrases.first().is_some_and(|phrase| phrase.names_limb() && phrase.spot.is_none())
}

/// A pair of limbs at most: neither a side nor one of them.
fn is_pair(phrase: &Phrase<'_>) -> bool {
    phrase.limbs.is_empty() && phrase.sides.is_empty()
}

/// "both", and nothing more.
fn is_both(phrases: &[Phrase<'_>]) -> bool {
    matches!(phrases, [both] if both.sides.len() == 2 && both.limbs.is_empty() && both.spot.is_none() && both.pair.is_none())
}

fn has_own_spot(say: &Say<'_>) -> bool {
    matches!(say.what, What::Sign { .. } | What::Pick { .. } | What::Measure { .. } | What::Testers(_))
}

/// Whether it would be asked which of the places that a word covers is meant.
fn is_open(what: &What, phrase: &Phrase<'_>) -> bool {
    let (What::Finding(code), Some(spot)) = (what, &phrase.spot) else { return false };
    spot.breadth() > 1 && !spot.default.contains_key(code) && !spot.default.contains_key("*")
}

/// Whether `said` only says more exactly where `phrase` is.
fn narrows(said: &Phrase<'_>, phrase: &Phrase<'_>) -> bool {
    match (&said.spot, &phrase.spot) {
        (None, _) => {
            let pair_alone = phrase.limbs.is_empty() && phrase.sides.is_empty() && !said.sides.is_empty();
            let side_alone = phrase.limbs.is_empty() && phrase.pair.is_none() && said.pair.is_some();
            let side_alone = side_alone && said.sides.is_empty();
            said.names_limb() && (!phrase.names_limb() || pair_alone || side_alone)
        }
        (Some(_), Some(_)) => (!said.names_limb() || !phrase.names_limb()) && is_within(said, phrase),
        (Some(_), None) => !said.names_limb() && phrase.names_limb(),
    }
}

/// Whether the place is one of those that the wider word means.
fn is_within(narrow: &Phrase<'_>, wide: &Phrase<'_>) -> bool {
    let (Some(narrow), Some(wide)) = (&narrow.spot, &wide.spot) else { return false };
    let within = |a: &[String], b: &[String]| a.iter().all(|code| b.contains(code));
    within(&narrow.fore, &wide.fore)
        && within(&narrow.hind, &wide.hind)
        && within(&narrow.axial, &wide.axial)
        && within(&narrow.foot, &wide.foot)
}

fn take_over<'v>(phrase: &mut Phrase<'v>, said: &Phrase<'v>) {
    if said.names_limb() {
        let (pair, sides) = (phrase.pair, std::mem::take(&mut phrase.sides));
        copy_limb(phrase, said);
        phrase.pair = phrase.pair.or(pair);
        if phrase.sides.is_empty() && phrase.limbs.is_empty() {
            phrase.sides = sides;
        }
    }
    if said.spot.is_some() {
        phrase.spot.clone_from(&said.spot);
        phrase.down = said.down;
    }
    if said.aspect.is_some() {
        phrase.aspect.clone_from(&said.aspect);
    }
    phrase.of.extend(said.of.iter().cloned());
}

fn copy_limb<'v>(to: &mut Phrase<'v>, from: &Phrase<'v>) {
    (to.limbs, to.sides, to.pair) = (from.limbs.clone(), from.sides.clone(), from.pair);
}

/// Whether a thing can stand in a list of things that are not there.
fn lists(say: &Say<'_>) -> bool {
    matches!(say.what, What::Finding(_) | What::Sign { .. })
}
