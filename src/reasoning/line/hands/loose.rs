//! Grades, measures, directions and "none" that stand alone: of the last thing said, or waiting for the next.

use super::{
    again::{is_both, is_ungraded},
    bind::{Binder, Within},
    made::is_unsaid,
    order::{is_other_limb, same},
    record::{Bound, Carry, Entry},
    say::{Run, Say, What, meant, takes_grade},
    within::{narrows, take_over},
};
use crate::{
    catalogue::{
        Finding, catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::{graded::Grading, piece::Piece, place::Phrase},
};

impl<'v> Binder<'_, 'v> {
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
        self.other_aspects(run);
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
        self.turn_aspect(run, phrases, within);
        let mut qualities = std::mem::take(&mut self.qualities);
        qualities.append(&mut run.loose_qualities);
        match (run.says.first_mut(), self.last()) {
            (_, Some(bound)) => bound.say.of.extend(qualities),
            (Some(say), None) => say.of.extend(qualities),
            (None, None) => self.qualities = qualities,
        }
        if let Some(grade) = run.loose_grade.take()
            && !self.pressed(&grade, run, phrases)
            && !self.all_graded(&grade, run)
        {
            self.loose_grade(grade, run, phrases, within);
        }
    }

    /// "suspensory origin, two on deep pressure": what hurts is not said, that it hurts is meant.
    fn pressed(&mut self, grade: &Grading<'v>, run: &Run<'v>, phrases: &[Phrase<'v>]) -> bool {
        let here = |bound: &mut Bound<'v>| phrases.is_empty() || same(&bound.phrases, phrases);
        let open = self.last().is_some_and(|bound| is_ungraded(&bound.say) && here(bound));
        if !run.presses || !run.says.is_empty() || open || self.is_again(phrases) {
            return false;
        }
        let say =
            Say { grade: Some(grade.clone()), ..Say::new(What::Finding("PAIN".into()), grade.of.clone()) };
        self.entries.push(Entry::Said(Box::new(Bound { say, phrases: phrases.to_vec(), carry: Carry::On })));
        true
    }

    /// "hot, swollen and sore, all moderate": of everything that was said of that place without a grade.
    fn all_graded(&mut self, grade: &Grading<'v>, run: &mut Run<'v>) -> bool {
        let whole = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::Whole | Meaning::Rest));
        let all = run.says.is_empty() && run.loose_rest.as_ref().is_some_and(whole);
        if !all {
            return false;
        }
        let place = self.said().find(|bound| !bound.phrases.is_empty()).map(|bound| bound.phrases.clone());
        let here = |bound: &&mut Bound<'v>| {
            bound.phrases.is_empty() || place.as_ref().is_some_and(|place| same(&bound.phrases, place))
        };
        let mut graded = false;
        for bound in self.said().take_while(here) {
            if is_ungraded(&bound.say) {
                bound.say.of.extend(grade.of.iter().cloned());
                bound.say.grade = Some(grade.clone());
                graded = true;
            }
        }
        if let Some(word) = run.loose_rest.take_if(|_| graded)
            && let Some(bound) = self.last()
        {
            bound.say.of.push(word);
        }
        graded
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
        if within.first && within.more && run.says.is_empty() && grade.in_words {
            // "annular ligament thick, mild sheath effusion": of what comes.
            self.fills();
            self.grade = Some(grade);
            return;
        }
        // "a bit of fluid, moderate really"
        let part = |piece: &Piece<'v>| piece.is(|m| matches!(m, Meaning::PartOf));
        let parted = |bound: &Bound<'v>| {
            let here = phrases.is_empty() || same(&bound.phrases, phrases);
            here && bound.say.grade.as_ref().is_some_and(|said| said.of.iter().any(part))
        };
        let more = run.says.is_empty() && !grade.of.iter().any(part);
        if let Some(bound) = self.last().filter(|bound| open(bound) || more && parted(bound)) {
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
            self.fills();
            self.grade = Some(grade);
            self.graded = phrases.to_vec();
        }
    }

    /// "digital sheath LF 2/4": out of four, where nothing else is found on such a scale, only an effusion is graded.
    pub(super) fn fills(&mut self) {
        let graded = std::mem::take(&mut self.graded);
        let Some(grade) = &self.grade else { return };
        let scaled = grade.of_number.and_then(alone_on).map(str::to_owned);
        let filled =
            |phrase: &Phrase<'v>, code: &str| phrase.spot.as_ref().is_some_and(|spot| all_offer(spot, code));
        let scaled = scaled.filter(|code| graded.iter().all(|phrase| filled(phrase, code)));
        let what = graded.iter().find_map(own_sign).or(scaled.map(What::Finding));
        if let Some(what) = what.filter(|_| !graded.is_empty())
            && let Some(grade) = self.grade.take()
        {
            let of = grade.of.clone();
            let say = Say { grade: Some(grade), ..Say::new(what, of) };
            self.entries.push(Entry::Said(Box::new(Bound { say, phrases: graded, carry: Carry::On })));
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
}

/// "curb, firm, 1+, not painful": the place is named by what it has.
fn own_sign(phrase: &Phrase<'_>) -> Option<What> {
    phrase.of.iter().find_map(|piece| {
        let sign = piece.get(|m| matches!(m, Meaning::Sign { or_place: true, .. }).then_some(m))?;
        meant(sign).map(|(what, _)| what)
    })
}

/// The only finding that is graded out of so many.
fn alone_on(of: f64) -> Option<&'static str> {
    let top = |key: &str| catalogue().scale(key).map(|scale| f64::from(scale.range().1));
    let scaled = |row: &&Finding| row.scale.as_deref().and_then(top) == Some(of);
    let mut found = catalogue().findings.iter().filter(scaled);
    found.next().filter(|_| found.next().is_none()).map(|row| row.code.as_str())
}

/// Whether it can be found at every region of the place.
fn all_offer(spot: &Spot, code: &str) -> bool {
    let offers = |region: &String| {
        catalogue().region(region).is_some_and(|row| row.offer.iter().any(|offered| offered == code))
    };
    let default = spot.default.get(code).or_else(|| spot.default.get("*"));
    let regions = [&spot.fore, &spot.hind, &spot.axial, &spot.foot];
    default.is_some() || regions.into_iter().flatten().all(offers)
}
