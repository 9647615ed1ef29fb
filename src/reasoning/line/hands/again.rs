//! Grades, measures and answers that stand apart from their finding: they belong to the last one, or say the same of
//! another limb.

use std::sync::Arc;

use super::{
    bind::{Binder, Named, Within},
    made::is_unsaid,
    order::{is_other_limb, pair, same},
    record::{Bound, Carry, Entry},
    say::{Run, Say, What, takes_grade},
    waiting::{narrows, take_over},
};
use crate::{
    catalogue::words::Spot,
    reasoning::line::{graded::Grading, piece::Piece, place::Phrase},
};

impl<'v> Binder<'_, 'v> {
    /// A site that was named after the testers were answered belongs to that answer, or has the same one.
    pub(super) fn answered(&mut self, say: &mut Say<'v>, phrases: &[Phrase<'v>]) -> bool {
        let What::Testers(own) = say.what else { return false };
        if say.sites.is_empty() {
            return false;
        }
        let Some(bound) = self.last() else { return false };
        let What::Testers(answer) = bound.say.what else { return false };
        let unanswered = bound.say.grade.is_none() && !bound.say.negated;
        let mere = say.grade.is_none() && !say.negated;
        if bound.say.sites.is_empty()
            && (unanswered && (own.is_none() || answer.is_none()) || mere && own.is_none())
            && (phrases.is_empty() || same(&bound.phrases, phrases))
        {
            bound.say.sites.append(&mut say.sites);
            bound.say.of.append(&mut say.of);
            if unanswered {
                (bound.say.grade, bound.say.negated) = (say.grade.take(), say.negated);
                bound.say.what = What::Testers(answer.or(own));
            }
            return true;
        }
        if own.is_none() && say.grade.is_none() && !bound.say.negated {
            say.what = What::Testers(answer.or(bound.say.grade.as_ref().map(|_| true)));
        }
        false
    }

    /// "no swelling either side": of the last thing said alone; of both places where two were spoken of.
    pub(super) fn both_sides(&mut self, both: &[Phrase<'v>]) -> bool {
        let sided = |phrase: &Phrase<'v>| phrase.names_limb() && !narrows(&both[0], phrase);
        let placed = self.named != Named::Nothing;
        let apart =
            |bound: &&mut Bound<'v>| placed && bound.phrases.is_empty() || bound.phrases.iter().any(sided);
        // "gluteals sore; hamstrings: no pain either side": of the place that was named last.
        let fresh = self.fresh_spot();
        let Some(bound) = self.last().filter(|_| is_both(both)).filter(apart) else {
            return false;
        };
        let fresh = bound.phrases.is_empty().then_some(fresh).flatten();
        bound.carry = if fresh.is_some() { Carry::On } else { Carry::All };
        bound.say.of.extend(both[0].of.iter().cloned());
        let spot = fresh.or_else(|| bound.phrases.last().and_then(|phrase| phrase.spot.clone()));
        bound.phrases = both.to_vec();
        for phrase in &mut bound.phrases {
            phrase.spot.clone_from(&spot);
        }
        true
    }

    /// "LF frog with the testers, nothing": the answer, and not a foot without findings.
    pub(super) fn answers_testers(&mut self, nad: &Say<'v>, phrases: &[Phrase<'v>]) -> bool {
        let Some(bound) = self.last() else { return false };
        let open = matches!(bound.say.what, What::Testers(None)) && is_unsaid(&bound.say);
        let here = phrases.is_empty() || same(&bound.phrases, phrases);
        if open && here {
            bound.say.negated = true;
            bound.say.of.extend(nad.of.iter().cloned());
        }
        open && here
    }

    /// The place that was named right before the last thing said, which was said of no other.
    fn fresh_spot(&self) -> Option<Arc<Spot>> {
        match self.entries.as_slice() {
            [.., Entry::Named(place), Entry::Said(_)] => place.spot.clone(),
            _ => None,
        }
    }

    /// "left fore pulse one plus, right normal": the pulse of the other is meant, not the limb.
    pub(super) fn calms(&mut self, nad: &mut Say<'v>, phrases: &[Phrase<'v>]) -> bool {
        let Some(bound) = self.last().filter(|_| is_other_limb(phrases)) else { return false };
        let own = matches!(&bound.say.what, What::Sign { code, .. } if code == "PULS" || code == "HTMP")
            || matches!(bound.say.what, What::Testers(_));
        if own {
            let of = std::mem::take(&mut nad.of);
            *nad = Say { grade: None, negated: true, of, ..bound.say.clone() };
        }
        own
    }

    /// Grades, measures and "none" without a finding beside them belong to the last one, or wait for the next.
    pub(super) fn loose(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>], within: Within) {
        if let Some(piece) = run.loose_positive.take() {
            match run.says.first_mut() {
                None => self.again_found(piece, phrases),
                Some(say) if matches!(say.what, What::Testers(None)) => {
                    say.what = What::Testers(Some(true));
                    say.of.push(piece);
                }
                Some(_) => run.loose_qualities.push(piece),
            }
        }
        self.loose_absent(run, phrases);
        if run.says.is_empty()
            && self.is_again(phrases)
            && let Some((mm, of)) = run.loose_mm.take_if(|_| self.is_measured())
        {
            // "toe length LF 92 mm, RF 88 mm"
            self.again_measured(mm, of, phrases);
        }
        if let Some((mm, of)) = run.loose_mm.take() {
            match self.last().map(|bound| &mut bound.say).or(run.says.first_mut()) {
                Some(say) => {
                    say.mm = Some(mm);
                    say.of.extend(of);
                }
                None => self.mm = Some((mm, of)),
            }
        }
        if run.says.is_empty()
            && let (Some(aspect), Some(grade)) = (&run.loose_aspect, &run.loose_grade)
            && self.other_aspect(aspect, grade)
        {
            (run.loose_aspect, run.loose_grade) = (None, None);
        }
        if let Some((aspect, piece)) = run.loose_aspect.take() {
            let of_last = self.last().is_some_and(|bound| same(&bound.phrases, phrases));
            let named = matches!(self.entries.last(), Some(Entry::Named(_)));
            let fresh = if phrases.is_empty() {
                self.entries.is_empty() || !self.waiting.is_empty()
            } else {
                named && !of_last
            };
            let leads = within.after_stop || fresh;
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

    /// "left moderate, right none": the other limb was looked at too.
    fn loose_absent(&mut self, run: &mut Run<'v>, phrases: &[Phrase<'v>]) {
        let placed = phrases.iter().any(|phrase| phrase.spot.is_some())
            && self.last().is_some_and(|bound| {
                matches!(bound.say.what, What::Finding(_)) && !same(&bound.phrases, phrases)
            });
        let asked = self.last().is_some_and(|bound| {
            let open = matches!(bound.say.what, What::Testers(None)) && is_unsaid(&bound.say);
            open && (bound.phrases.is_empty() || same(&bound.phrases, phrases))
        });
        let elsewhere = run.says.is_empty() && !asked && (placed || self.is_again(phrases));
        if let Some(piece) = run.loose_absent.take_if(|_| elsewhere) {
            self.again(None, vec![piece], phrases);
        }
        if let Some(piece) = run.loose_absent.take()
            && let Some(bound) = self.last().filter(|bound| bound.say.grade.is_none())
        {
            bound.say.negated = true;
            bound.say.of.push(piece);
        }
    }

    /// "digital pulse medial 2, lateral 1": the same finding on the other side of the place.
    fn other_aspect(&mut self, (aspect, piece): &(String, Piece<'v>), grade: &Grading<'v>) -> bool {
        let other = |bound: &&mut Bound<'v>| {
            bound.say.grade.is_some() && bound.say.aspect.as_ref().is_some_and(|before| before != aspect)
        };
        let Some(bound) = self.last().filter(other) else { return false };
        let mut of = grade.of.clone();
        of.push(piece.clone());
        let say = Say { aspect: Some(aspect.clone()), grade: Some(grade.clone()), of, ..bound.say.clone() };
        let bound = Bound { say, phrases: bound.phrases.clone(), carry: Carry::On };
        self.entries.push(Entry::Said(Box::new(bound)));
        true
    }

    /// The direction that stood before the run reaches what is said in it.
    pub(super) fn direct(&mut self, run: &mut Run<'v>) {
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

    pub(super) fn loose_grade(
        &mut self,
        grade: Grading<'v>,
        run: &Run<'v>,
        phrases: &[Phrase<'v>],
        within: Within,
    ) {
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
        // "mildly painful (1/3)": the number says the word again.
        let again = |bound: &&mut Bound<'v>| {
            let said = bound.say.grade.as_ref().filter(|said| said.in_words && !grade.in_words);
            let here = phrases.is_empty() || same(&bound.phrases, phrases);
            here && said.is_some_and(|said| (said.value() - grade.value()).abs() < f64::EPSILON)
        };
        if let Some(bound) = self.last().filter(again).filter(|_| run.says.is_empty()) {
            bound.say.of.extend(grade.of.iter().cloned());
            return;
        }
        if is_both(phrases) && self.both_signs(&grade) {
            return;
        }
        if let ([limb], Some(bound)) = (phrases, self.last().filter(|bound| is_ungraded(&bound.say)))
            && is_other_limb(phrases)
            && bound.phrases.iter().any(|phrase| narrows(limb, phrase))
        {
            // "fetlock effusion, mild left"
            bound
                .phrases
                .iter_mut()
                .filter(|phrase| narrows(limb, phrase))
                .for_each(|phrase| take_over(phrase, limb));
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade);
            return;
        }
        let elsewhere = run.says.is_empty() && self.is_graded_elsewhere(phrases);
        if (elsewhere || self.is_again(phrases)) && !(within.more && run.says.is_empty()) {
            let of = grade.of.clone();
            self.again(Some(grade), of, phrases);
        } else if let Some(bound) = self.open_before(phrases).filter(|_| run.says.is_empty()) {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade);
        } else {
            self.grade = Some(grade);
        }
    }

    /// "swollen and painful, both moderate": of the two signs at one place, or of the two places.
    pub(super) fn both_signs(&mut self, grade: &Grading<'v>) -> bool {
        let Some(phrases) = self.last().map(|bound| bound.phrases.clone()) else { return false };
        let limbs: usize = phrases.iter().map(|phrase| phrase.limbs.len() + phrase.sides.len()).sum();
        let open = |bound: &&mut Bound<'v>| is_ungraded(&bound.say);
        let here = self.said().take_while(|bound| same(&bound.phrases, &phrases)).filter(open).count();
        let before = self.said().take_while(|bound| is_ungraded(&bound.say)).count();
        if limbs > 1 || !(here == 2 || before == 2 && here < 2) {
            return false;
        }
        for bound in self.said().filter(|bound| is_ungraded(&bound.say)).take(2) {
            bound.say.of.extend(grade.of.iter().cloned());
            bound.say.grade = Some(grade.clone());
        }
        true
    }

    /// "fetlock effusion 2, carpus 1": another place, after a finding that has its grade.
    fn is_graded_elsewhere(&mut self, phrases: &[Phrase<'v>]) -> bool {
        let placed = matches!(phrases, [place] if place.spot.is_some());
        let graded = |bound: &Bound<'v>| {
            matches!(bound.say.what, What::Finding(_))
                && bound.say.grade.as_ref().is_some_and(|grade| !grade.in_words)
        };
        placed && self.waiting.is_empty() && self.last().is_some_and(|bound| graded(bound))
    }

    /// Another limb, where the place is the one that something was said of last.
    pub(super) fn is_again(&mut self, phrases: &[Phrase<'v>]) -> bool {
        let spot = |phrase: &Phrase<'v>| phrase.spot.as_ref().map(|spot| spot.code.clone());
        let Some(named) = phrases.first().filter(|phrase| phrase.names_limb()).map(spot) else {
            return false;
        };
        let listed = self.listed.is_some();
        let before = self.last().filter(|bound| !same(&bound.phrases, phrases));
        named.is_none() || listed || before.is_some_and(|bound| bound.phrases.last().and_then(spot) == named)
    }

    /// "soft, not painful, 1 of 3": what was denied in between takes no grade.
    pub(super) fn open_before(&mut self, phrases: &[Phrase<'v>]) -> Option<&mut Bound<'v>> {
        let at = self.said().find(|bound| !bound.phrases.is_empty())?.phrases.clone();
        let here = phrases.is_empty() || same(&at, phrases);
        self.said()
            .filter(|_| here)
            .take_while(|bound| bound.phrases.is_empty() || same(&bound.phrases, &at))
            .find(|bound| !bound.say.negated)
            .filter(|bound| bound.say.grade.is_none() && takes_grade(&bound.say.what))
    }

    /// "LF fetlock effusion 2, RF 1": the same finding on the other limb, or none there.
    pub(super) fn again(&mut self, grade: Option<Grading<'v>>, of: Vec<Piece<'v>>, phrases: &[Phrase<'v>]) {
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
        for phrase in &mut bound.phrases {
            // "bilateral PSL sore, LH 2, RH 1": the limbs tell which pair it was.
            let sides = phrase.limbs.is_empty() && phrase.pair.is_none() && !phrase.sides.is_empty();
            phrase.pair = phrase.pair.or(phrases.first().and_then(pair).filter(|_| sides));
        }
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

    pub(super) fn is_measured(&mut self) -> bool {
        self.last().is_some_and(|bound| bound.say.number.or(bound.say.mm).is_some())
    }

    pub(super) fn again_measured(&mut self, mm: f64, of: Vec<Piece<'v>>, phrases: &[Phrase<'v>]) {
        let Some(bound) = self.last() else { return };
        let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
        let number = bound.say.number.map(|_| mm);
        let say = Say { of, number, mm: Some(mm).filter(|_| number.is_none()), ..bound.say.clone() };
        self.entry_at(say, phrases, spot.as_ref());
    }

    /// Says it of these places; a limb alone stands for the same place there.
    pub(super) fn entry_at(&mut self, say: Say<'v>, phrases: &[Phrase<'v>], spot: Option<&Arc<Spot>>) {
        let mut phrases = phrases.to_vec();
        for phrase in phrases.iter_mut().filter(|phrase| phrase.spot.is_none()) {
            phrase.spot = spot.cloned();
        }
        self.entries.push(Entry::Said(Box::new(Bound { say, phrases, carry: Carry::On })));
    }

    /// "hoof testers: left negative, right positive"
    pub(super) fn again_found(&mut self, positive: Piece<'v>, phrases: &[Phrase<'v>]) {
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
}

/// "both", and nothing more.
pub(super) fn is_both(phrases: &[Phrase<'_>]) -> bool {
    matches!(phrases, [both] if both.sides.len() == 2 && both.limbs.is_empty() && both.spot.is_none() && both.pair.is_none())
}

pub(super) fn is_ungraded(say: &Say<'_>) -> bool {
    say.grade.is_none() && !say.negated && takes_grade(&say.what)
}
