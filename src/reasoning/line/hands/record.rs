//! Bound findings become rows: each at its place, on its scale, or as a question.

use std::{collections::HashSet, sync::Arc};

use super::{
    both::Both,
    made::{code_of, is_only_a_level, is_unsaid, place_at, rows, testers_spot},
    say::{Say, What},
};
use crate::{
    catalogue::{Limb, Place, catalogue, words::Spot},
    reasoning::line::{
        piece::Piece,
        place::{self, Located, Phrase},
        reading::{Finding, Made},
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
    /// All places spoken of so far, where they are several.
    All,
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
        log: Vec::new(),
        meant: Vec::new(),
        topic: None,
        rest: Vec::new(),
        both: Both::default(),
    };
    for entry in entries {
        match entry {
            Entry::Named(phrase) => recorder.named(&phrase),
            Entry::Said(bound) => recorder.record(&bound),
        }
    }
    recorder.sweep_the_rest();
}

pub(super) struct Recorder<'s, 'v> {
    pub(super) scene: &'s mut Scene<'v>,
    /// Phrases whose words stand in a row already.
    pub(super) told: HashSet<usize>,
    /// Words of a limb, and of a place, that the next row takes along.
    pub(super) unsaid: Vec<Piece<'v>>,
    pub(super) unsaid_spot: Vec<Piece<'v>>,
    /// The place that a sign brought along, and the phrase it was said of: "left hock bone spavin, no heat".
    pub(super) sign: Option<(usize, Arc<Spot>)>,
    /// What was said of the last place, for "same on the right".
    pub(super) last: Vec<(Say<'v>, Option<Arc<Spot>>)>,
    pub(super) last_at: Option<usize>,
    /// All that was said so far, with its place and the limb it was said of, for "right fore the same".
    log: Vec<(Say<'v>, Option<Arc<Spot>>, Limb)>,
    /// Regions that were meant so far: in "hock effusion, no pain" one of them tells where the pain is not.
    pub(super) meant: Vec<String>,
    /// The place that the line speaks of, where the limbs are named after it: "hind suspensory branches: RH sore".
    pub(super) topic: Option<Arc<Spot>>,
    /// Limbs to sweep once all findings are known.
    pub(super) rest: Vec<(Vec<Limb>, Vec<Piece<'v>>)>,
    /// A place on both sides, spoken of as one.
    pub(super) both: Both,
}

impl<'v> Recorder<'_, 'v> {
    pub(super) fn record(&mut self, bound: &Bound<'v>) {
        if bound.carry == Carry::All && self.of_all(&bound.say) {
            return;
        }
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
            // "LF fetlock effusion 1 otherwise nad": of the limb, since something was said of the place.
            let rest = matches!(bound.say.what, What::Nad { rest: true });
            let phrase = &if rest && first_of(phrase).is_some_and(|first| self.told.contains(&first)) {
                Phrase { spot: None, ..phrase.clone() }
            } else {
                phrase.clone()
            };
            // "LH dist hock joints": those of the limb that was named right before.
            let of_one =
                !self.unsaid.is_empty() && !phrase.names_limb() && self.scene.context.limbs.len() == 1;
            let phrase = &Phrase { plural: phrase.plural && !of_one, ..phrase.clone() };
            let mut of = bound.say.of.clone();
            of.extend(self.words_of(phrase));
            match &bound.say.what {
                What::Nad { .. } if bound.carry == Carry::Nothing => {}
                What::Nad { rest: true } if phrase.spot.is_none() => self.keep_rest(phrase, of),
                What::Nad { .. } => {
                    self.nothing_found(phrase, &of, bound.carry);
                    self.remember(bound, phrase.spot.clone());
                }
                What::Same => self.same(phrase, &of),
                _ => {
                    let spot = self.finding(&bound.say, phrase, &of, bound.carry);
                    self.remember(bound, spot);
                }
            }
        }
    }

    /// Records it at each place spoken of so far; false where there are not several.
    pub(super) fn of_all(&mut self, say: &Say<'v>) -> bool {
        if !matches!(say.what, What::Finding(_)) {
            return false;
        }
        let mut places: Vec<Place> = Vec::new();
        for row in &self.scene.rows {
            let place = match &row.made {
                Made::Finding(row) => place_at(&row.region, &row.side, row.limb.as_deref()),
                _ => None,
            };
            places.extend(place.filter(|place| !places.contains(place)));
        }
        if places.len() < 2 {
            return false;
        }
        let code = code_of(say);
        for place in places {
            for row in rows(say, place, &code, None) {
                self.scene.push(Made::Finding(row), say.of.clone());
            }
        }
        true
    }

    /// A named place carries on from here.
    pub(super) fn named(&mut self, phrase: &Phrase<'v>) {
        if let Some(spot) = phrase.spot.as_ref().filter(|_| !phrase.down) {
            // "coronary band swollen RF, clean LF"
            let first =
                !phrase.names_limb() && self.scene.context.limbs.is_empty() && !spot.limbs().is_empty();
            self.topic = Some(Arc::clone(spot)).filter(|_| first || is_topic(phrase));
            match place::locate(spot, phrase, &self.scene.context, false) {
                Located::At(at) => {
                    self.both.follow(spot, &at);
                    place::carry(&mut self.scene.context, phrase, &at);
                }
                Located::Ask { .. } => place::carry(&mut self.scene.context, phrase, &[]),
            }
            self.unsaid_spot.clone_from(&phrase.of);
        } else if phrase.sides.len() > 1 && is_side(phrase) && self.scene.context.limbs.len() == 1 {
            // "left fore sore and thick, both moderate": both signs.
            self.unsaid.clone_from(&phrase.of);
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
    pub(super) fn words_of(&mut self, phrase: &Phrase<'v>) -> Vec<Piece<'v>> {
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

    pub(super) fn remember(&mut self, bound: &Bound<'v>, spot: Option<Arc<Spot>>) {
        let at = bound.phrases.first().and_then(first_of);
        if at.is_some() && at != self.last_at {
            self.last.clear();
            self.last_at = at;
        }
        if let [limb] = self.scene.context.limbs.as_slice() {
            self.log.push((bound.say.clone(), spot.clone(), *limb));
        }
        self.last.push((bound.say.clone(), spot));
    }

    /// What was said of the limb across, where a whole limb is the same.
    fn across(&self, phrase: &Phrase<'v>) -> Vec<(Say<'v>, Option<Arc<Spot>>)> {
        let [limb] = limbs_of(phrase, &[])[..] else { return Vec::new() };
        let other = |(say, spot, of): &(Say<'v>, Option<Arc<Spot>>, Limb)| {
            (*of == limb.other()).then(|| (say.clone(), spot.clone()))
        };
        if phrase.spot.is_some() { Vec::new() } else { self.log.iter().filter_map(other).collect() }
    }

    pub(super) fn same(&mut self, phrase: &Phrase<'v>, of: &[Piece<'v>]) {
        let across = self.across(phrase);
        for (mut say, spot) in if across.is_empty() { self.last.clone() } else { across } {
            let mut phrase = phrase.clone();
            if phrase.spot.is_none() {
                phrase.spot = spot;
            }
            say.of = of.to_vec();
            if matches!(say.what, What::Nad { .. }) {
                self.nothing_found(&phrase, of, Carry::Afresh);
                continue;
            }
            self.finding(&say, &phrase, of, Carry::On);
        }
    }

    /// The spot of a thing said: its own, the named one, or the one that carries on.
    pub(super) fn spot(&self, say: &Say<'v>, phrase: &Phrase<'v>, carry: Carry) -> Option<Arc<Spot>> {
        match &say.what {
            What::Sign { spot, .. } | What::Pick { spot, .. } | What::Measure { spot, .. } => {
                Some(Arc::clone(spot))
            }
            What::Testers(_) => testers_spot(),
            _ if self.sign.as_ref().is_some_and(|(at, _)| Some(*at) == first_of(phrase)) => {
                self.sign.as_ref().map(|(_, spot)| Arc::clone(spot))
            }
            _ if phrase.spot.is_some() => self.within_context(phrase),
            _ if carry == Carry::Nothing => None,
            // "Left: spasm. Right: none." on the axis goes on, a limb alone does not.
            _ if carry == Carry::Afresh
                && phrase.names_limb()
                && !is_side(phrase)
                && !self.is_of_the_other(say, phrase) =>
            {
                None
            }
            _ => self.scene.context.spot.clone(),
        }
    }

    /// "fetlock warm LF; RF not warm": the same was said of the other limb right before.
    fn is_of_the_other(&self, say: &Say<'v>, phrase: &Phrase<'v>) -> bool {
        let [limb] = phrase.limbs.as_slice() else { return false };
        let mut found = self.scene.rows.iter().rev().filter_map(|row| match &row.made {
            Made::Finding(finding) => Some(finding),
            _ => None,
        });
        let Some(last) = found.next() else { return false };
        let there = |row: &&Finding| row.region == last.region && row.limb == last.limb;
        let code = code_of(say);
        let said = last.finding == code || found.take_while(there).any(|row| row.finding == code);
        said && last.limb.as_deref() == Some(limb.other().code())
    }

    /// "medial stifle effusion, collateral sore": a word for parts of several places is a part of the last one.
    pub(super) fn within_context(&self, phrase: &Phrase<'v>) -> Option<Arc<Spot>> {
        let spot = phrase.spot.as_ref()?;
        let wide = self.scene.context.spot.as_ref().filter(|wide| {
            let parts = spot.breadth() > 1 && spot.default.is_empty() && spot.flexion.is_none();
            parts && wide.code != spot.code && wide.meets(spot)
        });
        Some(wide.map_or_else(|| Arc::clone(spot), |wide| Arc::new(spot.narrowed(wide))))
    }

    /// Records one finding, and returns where it stands.
    pub(super) fn finding(
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
        let Some(spot) = self.spot(say, phrase, carry).map(|spot| of_foot(spot, say)) else {
            self.ask_where(say, phrase, of);
            return None;
        };
        if is_only_a_level(say, &spot) {
            return None;
        }
        let mut said = phrase.clone();
        if let What::Sign { plural, .. } = say.what {
            // "left fore: foot pulses strong": of that foot.
            let of_feet = !spot.foot.is_empty() && self.scene.context.limbs.is_empty();
            said.plural |= plural && (phrase.pair.is_some() || of_feet);
            self.sign = first_of(phrase).map(|at| (at, Arc::clone(&spot)));
        }
        let located = match self.both.told(say, phrase) {
            Some(both) => Located::At(both),
            None => match place::locate(&spot, &said, &self.scene.context, false) {
                // "no curbs", where nothing before it left the side open.
                asked @ Located::Ask { .. } => {
                    let asked_before = self.scene.rows.iter().any(|row| matches!(row.made, Made::Ask(_)));
                    let both =
                        place::both(&spot).filter(|_| say.negated && says_neither(&said) && !asked_before);
                    both.map_or(asked, Located::At)
                }
                located => located,
            },
        };
        let code = code_of(say);
        match located {
            Located::Ask { question, choices } => {
                self.ask_limb(say, (&spot, &code), (question, choices), phrase, of);
                said.spot = Some(Arc::clone(&spot));
                place::carry(&mut self.scene.context, &said, &[]);
            }
            Located::At(at) => {
                self.both.follow(&spot, &at);
                self.at_places(say, phrase, (&spot, &at), of);
                said.spot = Some(Arc::clone(&spot));
                if phrase.spot.is_none() && !phrase.names_limb() {
                    said.aspect.clone_from(&self.scene.context.aspect);
                }
                place::carry(&mut self.scene.context, &said, &at);
                if say.aspect.is_some() {
                    // A direction carries on with the place.
                    self.scene.context.aspect.clone_from(&say.aspect);
                }
            }
        }
        Some(spot)
    }
}

/// "pulse 2, warm": warmth is none of a pulse's, but of its foot.
fn of_foot(spot: Arc<Spot>, say: &Say<'_>) -> Arc<Spot> {
    let warmth =
        matches!(&say.what, What::Finding(code) if ["HEAT", "COLD", "HTMP"].contains(&code.as_str()));
    let pulse = matches!(spot.foot.as_slice(), [code] if code == "FT_PULSE" || code == "FT_HT");
    let foot = catalogue().words.spots.get("foot").filter(|_| warmth && pulse);
    foot.map_or(spot, |foot| Arc::new(foot.clone()))
}

/// No side is named.
fn says_neither(phrase: &Phrase<'_>) -> bool {
    phrase.limbs.is_empty() && phrase.sides.is_empty()
}

/// A side, and neither a limb nor a place.
pub(super) fn is_side(phrase: &Phrase<'_>) -> bool {
    !phrase.sides.is_empty() && phrase.limbs.is_empty() && phrase.pair.is_none() && phrase.spot.is_none()
}

pub(super) fn first_of(phrase: &Phrase<'_>) -> Option<usize> {
    phrase.of.first().map(|piece| piece.from)
}

/// Whether the place is named before its limb, or on a pair that single limbs may follow.
pub(super) fn is_topic(phrase: &Phrase<'_>) -> bool {
    let first = |wanted: &dyn Fn(&Piece<'_>) -> bool| {
        phrase.of.iter().filter(|piece| wanted(piece)).map(|piece| piece.from).min()
    };
    let limb = first(&|piece| piece.is_limbish());
    let spot = first(&|piece| piece.is_spot());
    let pair = phrase.pair.is_some() && phrase.sides.is_empty();
    // "splint bones: near fore bony, off fore nad"
    let heads = phrase.heads && phrase.spot.as_ref().is_some_and(|spot| !spot.limbs().is_empty());
    pair || heads || matches!((spot, limb), (Some(spot), Some(limb)) if spot < limb)
}
pub(super) fn limbs_of(phrase: &Phrase<'_>, carried: &[Limb]) -> Vec<Limb> {
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
