//! Bound findings become rows: each at its place, on its scale, or as a question.

use std::{collections::HashSet, sync::Arc};

use super::run::{Say, What};
use crate::{
    catalogue::{
        Limb, Place, Scale, Section, catalogue, sweep_from, sweep_places,
        words::{Meaning, Spot},
    },
    reasoning::line::{
        piece::Piece,
        place::{self, At, Chosen, Located, Phrase},
        reading::{Answer, Ask, Choice, Examined, Finding, Made},
        scene::Scene,
    },
};

/// What a line holds, in its order.
pub(super) enum Entry<'v> {
    /// A place was named; it carries on even when nothing was said of it.
    Named(Box<Phrase<'v>>),
    Said(Box<Bound<'v>>),
}

/// One thing said and the places it was said of; none: whatever carries on.
pub(super) struct Bound<'v> {
    pub say: Say<'v>,
    pub phrases: Vec<Phrase<'v>>,
    pub carry: Carry,
}

/// How far the place that was named before still holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Carry {
    On,
    /// A full stop stands between: a limb alone no longer means the region before it.
    Afresh,
    /// A word that nobody knows may have named another place.
    Nothing,
}

pub(super) fn all<'v>(scene: &mut Scene<'v>, entries: Vec<Entry<'v>>) {
    let mut recorder = Recorder {
        scene,
        told: HashSet::new(),
        unsaid: Vec::new(),
        unsaid_spot: Vec::new(),
        sign: None,
        last: Vec::new(),
        last_at: None,
        rest: Vec::new(),
    };
    for entry in entries {
        match entry {
            Entry::Named(phrase) => recorder.named(&phrase),
            Entry::Said(bound) => recorder.record(&bound),
        }
    }
    recorder.sweep_the_rest();
}

struct Recorder<'s, 'v> {
    scene: &'s mut Scene<'v>,
    /// Phrases whose words stand in a row already.
    told: HashSet<usize>,
    /// Words of a limb, and of a place, that the next row takes along.
    unsaid: Vec<Piece<'v>>,
    unsaid_spot: Vec<Piece<'v>>,
    /// The place that a sign brought along, and the phrase it was said of: "left hock bone spavin, no heat".
    sign: Option<(usize, Arc<Spot>)>,
    /// What was said of the last place, for "same on the right".
    last: Vec<(Say<'v>, Option<Arc<Spot>>)>,
    last_at: Option<usize>,
    /// Limbs to sweep once all findings are known.
    rest: Vec<(Vec<Limb>, Vec<Piece<'v>>)>,
}

impl<'v> Recorder<'_, 'v> {
    fn record(&mut self, bound: &Bound<'v>) {
        let empty = [Phrase::default()];
        let phrases: &[Phrase<'v>] = if bound.phrases.is_empty() { &empty } else { &bound.phrases };
        for phrase in phrases {
            let nothing = matches!(bound.say.what, What::Nad { .. });
            // "filled from the hock down": what is found is no finding of the hock.
            let phrase = &if phrase.down && !nothing {
                Phrase { spot: None, ..phrase.clone() }
            } else {
                phrase.clone()
            };
            let mut of = bound.say.of.clone();
            of.extend(self.words_of(phrase));
            match &bound.say.what {
                What::Nad { .. } if bound.carry == Carry::Nothing => {}
                What::Nad { rest: true } => self.keep_rest(phrase, of),
                What::Nad { rest: false } => self.nothing_found(phrase, &of, bound.carry),
                What::Same => self.same(phrase, &of),
                _ => {
                    let spot = self.finding(&bound.say, phrase, &of, bound.carry);
                    self.remember(bound, spot);
                }
            }
        }
    }

    /// A named place carries on from here.
    fn named(&mut self, phrase: &Phrase<'v>) {
        if let Some(spot) = phrase.spot.as_ref().filter(|_| !phrase.down) {
            match place::locate(spot, phrase, &self.scene.context, false) {
                Located::At(at) => place::carry(&mut self.scene.context, phrase, &at),
                Located::Ask { .. } => place::carry(&mut self.scene.context, phrase, &[]),
            }
            self.unsaid_spot.clone_from(&phrase.of);
        } else {
            let mut limbs = limbs_of(phrase, &self.scene.context.limbs);
            if phrase.limbs.is_empty() && phrase.sides.is_empty() && !phrase.plural {
                // "front shoe loose": one of them.
                limbs.retain(|limb| self.scene.context.limbs.contains(limb));
            }
            self.scene.context.limbs.clone_from(&limbs);
            if limbs.is_empty() {
                self.scene.context.sides.clone_from(&phrase.sides);
            }
            self.unsaid.clone_from(&phrase.of);
        }
    }

    /// The words of a place stand in the first row that comes of it, with those of a limb named apart from it.
    fn words_of(&mut self, phrase: &Phrase<'v>) -> Vec<Piece<'v>> {
        let mut words = Vec::new();
        if first_of(phrase).is_some_and(|first| self.told.insert(first)) {
            words.extend(phrase.of.iter().cloned());
        }
        let foreign = |piece: &Piece<'v>| phrase.of.iter().all(|own| own.from != piece.from);
        self.unsaid.retain(foreign);
        self.unsaid_spot.retain(foreign);
        if phrase.limbs.is_empty() && phrase.pair.is_none() {
            words.append(&mut self.unsaid);
        }
        if phrase.spot.is_none() {
            words.append(&mut self.unsaid_spot);
        }
        words
    }

    fn remember(&mut self, bound: &Bound<'v>, spot: Option<Arc<Spot>>) {
        let at = bound.phrases.first().and_then(first_of);
        if at.is_some() && at != self.last_at {
            self.last.clear();
            self.last_at = at;
        }
        self.last.push((bound.say.clone(), spot));
    }

    fn same(&mut self, phrase: &Phrase<'v>, of: &[Piece<'v>]) {
        for (mut say, spot) in self.last.clone() {
            let mut phrase = phrase.clone();
            if phrase.spot.is_none() {
                phrase.spot = spot;
            }
            say.of = of.to_vec();
            self.finding(&say, &phrase, of, Carry::On);
        }
    }

    /// The spot of a thing said: its own, the named one, or the one that carries on.
    fn spot(&self, say: &Say<'v>, phrase: &Phrase<'v>, carry: Carry) -> Option<Arc<Spot>> {
        match &say.what {
            What::Sign { spot, .. } | What::Pick { spot, .. } | What::Measure { spot, .. } => {
                Some(Arc::clone(spot))
            }
            What::Testers(_) => testers_spot(),
            _ if self.sign.as_ref().is_some_and(|(at, _)| Some(*at) == first_of(phrase)) => {
                self.sign.as_ref().map(|(_, spot)| Arc::clone(spot))
            }
            _ if phrase.spot.is_some() => phrase.spot.clone(),
            _ if carry == Carry::Nothing || (carry == Carry::Afresh && phrase.names_limb()) => None,
            _ => self.scene.context.spot.clone(),
        }
    }

    /// Records one finding, and returns where it stands.
    fn finding(
        &mut self,
        say: &Say<'v>,
        phrase: &Phrase<'v>,
        of: &[Piece<'v>],
        carry: Carry,
    ) -> Option<Arc<Spot>> {
        if is_unsaid(say) {
            self.unsaid_spot.extend(of.iter().cloned());
            return None;
        }
        let Some(spot) = self.spot(say, phrase, carry) else {
            self.ask_where(say, phrase, of);
            return None;
        };
        if is_only_a_level(say, &spot) {
            return None;
        }
        let mut said = phrase.clone();
        if let What::Sign { plural, .. } = say.what {
            said.plural |= plural;
            self.sign = first_of(phrase).map(|at| (at, Arc::clone(&spot)));
        }
        let located = place::locate(&spot, &said, &self.scene.context, false);
        let code = code_of(say);
        match located {
            Located::Ask { question, choices } => {
                self.ask_limb(say, (&spot, &code), (question, choices), phrase, of);
                said.spot = Some(Arc::clone(&spot));
                place::carry(&mut self.scene.context, &said, &[]);
            }
            Located::At(at) => {
                self.at_places(say, phrase, (&spot, &at), of);
                said.spot = Some(Arc::clone(&spot));
                if phrase.spot.is_none() && !phrase.names_limb() {
                    said.aspect.clone_from(&self.scene.context.aspect);
                }
                place::carry(&mut self.scene.context, &said, &at);
                if say.aspect.as_ref().is_some_and(|aspect| spot.aspect.contains_key(aspect)) {
                    // A direction that picks one of several places carries on with the place.
                    self.scene.context.aspect.clone_from(&say.aspect);
                }
            }
        }
        Some(spot)
    }

    fn at_places(
        &mut self,
        say: &Say<'v>,
        phrase: &Phrase<'v>,
        (spot, at): (&Arc<Spot>, &[At]),
        of: &[Piece<'v>],
    ) {
        let carried = if phrase.spot.is_none() && !phrase.names_limb() {
            self.scene.context.aspect.clone()
        } else {
            None
        };
        let aspect = say.aspect.clone().or_else(|| phrase.aspect.clone()).or(carried);
        let code = code_of(say);
        let mut open = Open::default();
        for &at in at {
            match place::choose(spot, at, &code, aspect.as_deref()) {
                Chosen::One { place, finding, aspect } => {
                    for row in rows(say, place, &finding, aspect) {
                        self.scene.push(Made::Finding(row), of.to_vec());
                    }
                }
                Chosen::Several(places) => {
                    for place in places {
                        open.add(say, place, &code, aspect.clone());
                    }
                }
            }
        }
        if !open.choices.is_empty() {
            self.scene.push(Made::Ask(open.ask("Which place?")), of.to_vec());
        }
    }

    /// The limb or side is open; where one place would follow from it, the choice names it.
    fn ask_limb(
        &mut self,
        say: &Say<'v>,
        (spot, code): (&Spot, &str),
        (question, choices): (String, Vec<Choice>),
        phrase: &Phrase<'v>,
        of: &[Piece<'v>],
    ) {
        let mut open = Open::default();
        for choice in choices {
            let limb = choice.limb.as_deref().and_then(|limb| limb.parse().ok()).map(At::Limb);
            let side = choice.side.as_deref().and_then(|side| side.parse().ok()).map(At::Side);
            let chosen = limb.or(side).map(|at| place::choose(spot, at, code, phrase.aspect.as_deref()));
            match chosen {
                Some(Chosen::One { place, finding, aspect }) => open.add(say, place, &finding, aspect),
                _ => open.leave(Choice { finding: Some(code.to_owned()), ..choice }),
            }
        }
        self.scene.push(Made::Ask(open.ask(&question)), of.to_vec());
    }

    /// A finding without a place: the places of the limb that offer it, or the bare finding.
    fn ask_where(&mut self, say: &Say<'v>, phrase: &Phrase<'v>, of: &[Piece<'v>]) {
        let code = code_of(say);
        let limbs = limbs_of(phrase, &self.scene.context.limbs);
        let mut open = Open::default();
        // For several limbs a list of all their places would be no question any more.
        for limb in limbs.iter().filter(|_| limbs.len() == 1) {
            let places = Section::Limb(*limb).places().into_iter();
            places
                .filter(|place| place.region().offer.contains(&code))
                .for_each(|place| open.add(say, place, &code, say.aspect.clone()));
        }
        if open.choices.is_empty() {
            let whole = |limb: Option<&Limb>| Choice {
                side: limb.map(|limb| limb.side().code().to_owned()),
                limb: limb.map(|limb| limb.code().to_owned()),
                finding: Some(code.clone()),
                ..Choice::default()
            };
            if limbs.is_empty() {
                open.leave(whole(None));
            }
            for limb in &limbs {
                open.leave(whole(Some(limb)));
            }
        }
        self.scene.context.limbs.clone_from(&limbs);
        self.scene.push(Made::Ask(open.ask("Where is it?")), of.to_vec());
    }

    /// Nothing found at a place, over a foot, or over a whole limb.
    fn nothing_found(&mut self, phrase: &Phrase<'v>, of: &[Piece<'v>], carry: Carry) {
        let limb_alone = (!phrase.limbs.is_empty() || phrase.pair.is_some()) && phrase.spot.is_none();
        let spot = match &phrase.spot {
            Some(spot) => Some(Arc::clone(spot)),
            None if limb_alone => None,
            None => self.scene.context.spot.clone().filter(|_| carry == Carry::On || !phrase.names_limb()),
        };
        let Some(spot) = spot else {
            for limb in limbs_of(phrase, &self.scene.context.limbs) {
                self.sweep(limb, of);
            }
            place::carry(&mut self.scene.context, phrase, &limbs_at(&limbs_of(phrase, &[])));
            return;
        };
        let at = match place::locate(&spot, phrase, &self.scene.context, true) {
            Located::At(at) => at,
            Located::Ask { question, choices } => {
                self.scene.push(Made::Ask(Ask { question, choices, ..Ask::default() }), of.to_vec());
                return;
            }
        };
        let covered: Vec<Vec<Place>> = at
            .iter()
            .map(|&at| {
                let places = covered(&spot, at, phrase.aspect.as_deref());
                if phrase.down {
                    places.first().map(|&first| sweep_from(first)).unwrap_or_default()
                } else {
                    places
                }
            })
            .collect();
        let (found, open): (Vec<Vec<Place>>, Vec<Vec<Place>>) =
            covered.into_iter().partition(|places| places.iter().any(|place| self.is_found(*place)));
        if open.is_empty() && !found.is_empty() {
            // "effusion 2, nothing else": the words stand with what was found.
            if let Some(row) = self.scene.rows.last_mut() {
                row.of.extend(of.iter().cloned());
            }
        }
        for place in open.into_iter().flatten() {
            self.scene.push(Made::Examined(examined(place)), of.to_vec());
        }
        let mut said = phrase.clone();
        said.spot = Some(spot);
        place::carry(&mut self.scene.context, &said, &at);
    }

    fn sweep(&mut self, limb: Limb, of: &[Piece<'v>]) {
        self.rest.push((vec![limb], of.to_vec()));
    }

    fn keep_rest(&mut self, phrase: &Phrase<'v>, of: Vec<Piece<'v>>) {
        let limbs = limbs_of(phrase, &self.scene.context.limbs);
        let of_limb = phrase.names_limb() || is_limb_said(&of, self.scene);
        if limbs.is_empty() && self.scene.rows.is_empty() {
            return;
        }
        if limbs.is_empty() || !of_limb {
            let choices = limbs.iter().map(|limb| Choice {
                side: Some(limb.side().code().to_owned()),
                limb: Some(limb.code().to_owned()),
                ..Choice::default()
            });
            let ask =
                Ask { question: "The rest of what?".into(), choices: choices.collect(), ..Ask::default() };
            self.scene.push(Made::Ask(ask), of);
            return;
        }
        self.rest.push((limbs, of));
    }

    /// Limb sweeps last: a place of which something was found in this line is not among them.
    fn sweep_the_rest(&mut self) {
        for (limbs, of) in std::mem::take(&mut self.rest) {
            for limb in limbs {
                let hands =
                    sweep_places(Section::Limb(limb)).into_iter().chain(sweep_places(Section::Foot(limb)));
                for place in hands {
                    if self.is_examined(place) || !self.is_spoken_of(place) {
                        self.scene.push(Made::Examined(examined(place)), of.clone());
                    }
                }
            }
        }
    }

    /// Whether this line holds a finding there.
    fn is_found(&self, place: Place) -> bool {
        self.scene.rows.iter().any(|row| {
            matches!(&row.made, Made::Finding(finding) if finding.present
                && finding.region == place.region().code
                && finding.side == place.side().code()
                && finding.limb.as_deref() == place.limb().map(Limb::code))
        })
    }

    fn is_examined(&self, place: Place) -> bool {
        self.scene.rows.iter().any(|row| matches!(&row.made, Made::Examined(row) if *row == examined(place)))
    }

    fn is_spoken_of(&self, place: Place) -> bool {
        self.scene.rows.iter().any(|row| match &row.made {
            Made::Finding(finding) => {
                finding.region == place.region().code
                    && finding.limb.as_deref() == place.limb().map(Limb::code)
            }
            Made::Examined(examined) => {
                examined.region == place.region().code
                    && examined.limb.as_deref() == place.limb().map(Limb::code)
            }
            _ => false,
        })
    }
}

/// The choices of a question, each with the row it comes to.
#[derive(Default)]
struct Open {
    choices: Vec<Choice>,
    answers: Vec<Option<Answer>>,
}

impl Open {
    fn add(&mut self, say: &Say<'_>, place: Place, finding: &str, aspect: Option<String>) {
        self.choices.push(place::place_choice(place, Some(finding)));
        self.answers.push(rows(say, place, finding, aspect).into_iter().next().map(Answer::Finding));
    }

    /// A choice that leaves something open.
    fn leave(&mut self, choice: Choice) {
        self.choices.push(choice);
        self.answers.push(None);
    }

    fn ask(self, question: &str) -> Ask {
        Ask { question: question.to_owned(), choices: self.choices, answers: self.answers, ..Ask::default() }
    }
}

/// "rest of the limb", "limb otherwise": the word for the limb stands in it or right after.
fn is_limb_said(of: &[Piece<'_>], scene: &Scene<'_>) -> bool {
    let Some(rest) = of.iter().min_by_key(|piece| piece.from) else { return false };
    scene
        .tokens
        .iter()
        .skip(rest.from)
        .take(8)
        .take_while(|token| token.is_word)
        .any(|token| matches!(token.norm.as_str(), "limb" | "leg"))
}

fn first_of(phrase: &Phrase<'_>) -> Option<usize> {
    phrase.of.first().map(|piece| piece.from)
}

fn limbs_at(limbs: &[Limb]) -> Vec<At> {
    limbs.iter().map(|limb| At::Limb(*limb)).collect()
}

fn limbs_of(phrase: &Phrase<'_>, carried: &[Limb]) -> Vec<Limb> {
    use crate::catalogue::Pair;
    let wanted = |limb: &Limb| {
        phrase.pair.is_none_or(|pair| (pair == Pair::Fore) == limb.is_fore())
            && (phrase.sides.is_empty() || phrase.sides.contains(&limb.side()))
    };
    if !phrase.limbs.is_empty() {
        phrase.limbs.clone()
    } else if phrase.pair.is_some() {
        Limb::ALL.into_iter().filter(wanted).collect()
    } else if phrase.sides.is_empty() {
        carried.to_vec()
    } else {
        let mut both: Vec<Limb> =
            carried.iter().flat_map(|limb| [*limb, limb.other()]).filter(wanted).collect();
        both.sort_unstable();
        both.dedup();
        both
    }
}

fn covered(spot: &Spot, at: At, aspect: Option<&str>) -> Vec<Place> {
    if place::is_foot(spot) {
        return at.limb().map(|limb| sweep_places(Section::Foot(limb))).unwrap_or_default();
    }
    let picked = aspect.and_then(|aspect| spot.aspect.get(aspect));
    let all = place::places(spot, at);
    let narrowed: Vec<Place> =
        all.iter().copied().filter(|place| picked == Some(&place.region().code)).collect();
    if narrowed.is_empty() { all } else { narrowed }
}

fn examined(place: Place) -> Examined {
    Examined {
        region: place.region().code.clone(),
        side: place.side().code().to_owned(),
        limb: place.limb().map(|limb| limb.code().to_owned()),
        text: String::new(),
    }
}

fn testers_spot() -> Option<Arc<Spot>> {
    let words = &catalogue().words;
    match words.meaning("place:FT_HT", catalogue()) {
        Ok(Meaning::Spot { spot, .. }) => Some(spot),
        _ => None,
    }
}

/// Testers that were closed, without what came of it.
fn is_unsaid(say: &Say<'_>) -> bool {
    match say.what {
        What::Testers(None) => !say.negated && say.grade.is_none(),
        What::Measure { .. } => say.number.or(say.mm).is_none(),
        _ => false,
    }
}

/// "lower" is a finding on the axis only ("left tuber coxae lower"); elsewhere it says where.
fn is_only_a_level(say: &Say<'_>, spot: &Spot) -> bool {
    let level = say.of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::FlexionLevel { .. })));
    let uneven =
        matches!(&say.what, What::Finding(code) if code == "ASYM") && say.says_so && spot.foot.is_empty();
    (level || uneven) && spot.axial.is_empty()
}

fn code_of(say: &Say<'_>) -> String {
    match &say.what {
        What::Finding(code) | What::Sign { code, .. } => code.clone(),
        What::Pick { field, .. } | What::Measure { field, .. } => field.clone(),
        What::Testers(_) => "HTST".to_owned(),
        What::Nad { .. } | What::Same => String::new(),
    }
}

/// The rows of one thing at one place: one, or one for each site of the testers.
fn rows(say: &Say<'_>, place: Place, finding: &str, aspect: Option<String>) -> Vec<Finding> {
    let (grade, scale) = graded(say, finding);
    let present = match &say.what {
        What::Pick { normal, .. } => !normal && !say.negated,
        What::Testers(Some(false)) => false,
        _ => !say.negated && grade != Some(0.0),
    };
    let grade = if present { grade } else { Some(0.0) };
    let scale = if grade.is_some() { scale } else { None };
    let value = match &say.what {
        What::Pick { value, .. } => value.clone(),
        _ => None,
    };
    let row = Finding {
        region: place.region().code.clone(),
        side: place.side().code().to_owned(),
        limb: place.limb().map(|limb| limb.code().to_owned()),
        aspect,
        finding: finding.to_owned(),
        present,
        grade,
        scale,
        value,
        value_mm: say.number.or(say.mm),
        ..Finding::default()
    };
    if say.sites.is_empty() {
        return vec![row];
    }
    say.sites.iter().map(|site| Finding { value: Some(site.clone()), ..row.clone() }).collect()
}

/// The grade on the finding's own scale. A denominator of another scale keeps the number without one.
fn graded(say: &Say<'_>, finding: &str) -> (Option<f64>, Option<String>) {
    let scale: Option<&Scale> = catalogue()
        .finding(finding)
        .and_then(|row| row.scale.as_deref())
        .and_then(|key| catalogue().scale(key));
    let Some(scale) = scale else { return (None, None) };
    let own = || Some(scale.code.clone());
    if let What::Sign { grade: Some(grade), .. } = say.what {
        return (Some(grade), own());
    }
    match say.grade.as_ref().and_then(|grade| grade.on(scale)) {
        Some((grade, true)) => (Some(grade), own()),
        Some((grade, false)) => (Some(grade), None),
        None => (None, own()),
    }
}
