//! What says the same again: of another limb, of both sides, of the testers that were named before.

use std::sync::Arc;

use super::{
    bind::{Binder, Named},
    goes_with::covers,
    made::is_unsaid,
    order::{is_other_limb, pair, same},
    record::{Bound, Carry, Entry},
    say::{Say, What, takes_grade},
    within::narrows,
};
use crate::{
    catalogue::words::Spot,
    reasoning::line::{
        graded::Grading,
        piece::Piece,
        place::{Phrase, is_foot},
    },
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
            let wide = |site: &String, others: &[String]| others.iter().any(|other| covers(site, other));
            bound.say.sites.retain(|site| !wide(site, &say.sites));
            say.sites.retain(|site| !wide(site, &bound.say.sites));
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

    /// "LF frog with the testers, nothing", "pulses in both fore feet normal": the answer, and not a foot without
    /// findings.
    pub(super) fn answers(&mut self, nad: &Say<'v>, phrases: &[Phrase<'v>]) -> bool {
        let Some(bound) = self.last() else { return false };
        let of_feet = |phrase: &Phrase<'v>| phrase.spot.as_ref().is_some_and(|spot| is_foot(spot));
        let pulse = matches!(&bound.say.what, What::Sign { code, .. } if code == "PULS")
            && is_ungraded(&bound.say)
            && !phrases.is_empty()
            && phrases.iter().all(of_feet);
        let open = pulse || matches!(bound.say.what, What::Testers(None)) && is_unsaid(&bound.say);
        let here = phrases.is_empty() || same(&bound.phrases, phrases) || pulse && bound.phrases.is_empty();
        if open && here {
            if bound.phrases.is_empty() {
                bound.phrases = phrases.to_vec();
            }
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

    /// "fetlock effusion 2, carpus 1": another place, after a finding that has its grade.
    pub(super) fn is_graded_elsewhere(&mut self, phrases: &[Phrase<'v>]) -> bool {
        let placed = matches!(phrases, [place] if place.spot.is_some());
        let graded = |bound: &Bound<'v>| {
            matches!(bound.say.what, What::Finding(_) | What::Sign { .. }) && bound.say.grade.is_some()
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
            denies || takes_grade(&ungraded(&bound.say.what)) || measure(bound).is_some()
        };
        let Some(at) = self.last().map(|bound| bound.phrases.clone()) else { return };
        let here = |bound: &&mut Bound<'v>| same(&bound.phrases, &at) || bound.phrases.is_empty();
        // "knees effused, left 2/4 and hot, right 1/4": the grade is of what was graded.
        let scored = grade.is_some() && self.last().is_some_and(|bound| bound.say.grade.is_none());
        let scored = scored && self.said().take_while(here).any(|bound| bound.say.grade.is_some());
        let before = self.said().take_while(here).find(|bound| !scored || bound.say.grade.is_some());
        let Some(bound) = before.filter(suits) else { return };
        let spot = bound.phrases.last().and_then(|phrase| phrase.spot.clone());
        let number = measure(bound);
        for phrase in &mut bound.phrases {
            // "bilateral PSL sore, LH 2, RH 1": the limbs tell which pair it was.
            let sides = phrase.limbs.is_empty() && phrase.pair.is_none() && !phrase.sides.is_empty();
            phrase.pair = phrase.pair.or(phrases.first().and_then(pair).filter(|_| sides));
        }
        let mut say = Say { of, negated: grade.is_none(), ..bound.say.clone() };
        say.what = ungraded(&say.what);
        if let (What::Sign { code, .. }, true) =
            (&say.what, phrases.iter().all(|phrase| phrase.spot.is_some()))
        {
            // "thoroughpin 1/4, tarsocrural 1/4": what it is, at the other place.
            say.what = What::Finding(code.clone());
        }
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
            other => ungraded(other),
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

/// "LF bounding, RF mildly increased": the word's own grade is not that of the other limb.
fn ungraded(what: &What) -> What {
    match what.clone() {
        What::Sign { code, spot, plural, .. } => What::Sign { code, spot, grade: None, plural },
        other => other,
    }
}

/// "both", and nothing more.
pub(super) fn is_both(phrases: &[Phrase<'_>]) -> bool {
    matches!(phrases, [both] if both.sides.len() == 2 && both.limbs.is_empty() && both.spot.is_none() && both.pair.is_none())
}

pub(super) fn is_ungraded(say: &Say<'_>) -> bool {
    say.grade.is_none() && !say.negated && takes_grade(&say.what)
}
