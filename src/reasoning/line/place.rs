//! Places as they are said, and which places they come to.

use std::{cmp::Ordering, sync::Arc};

use super::{
    piece::{Look, Piece},
    reading::Choice,
    scene::Context,
};
use crate::catalogue::{
    Group, Limb, Pair, Place, Side, Sides, catalogue,
    words::{Meaning, Spot},
};

/// "LF and RF fetlock", "left hock, medial": what was said of one place.
#[derive(Clone, Debug, Default)]
pub(super) struct Phrase<'v> {
    pub limbs: Vec<Limb>,
    pub sides: Vec<Side>,
    pub pair: Option<Pair>,
    pub spot: Option<Arc<Spot>>,
    pub plural: bool,
    /// From there down: "from the knee down".
    pub down: bool,
    pub aspect: Option<String>,
    pub of: Vec<Piece<'v>>,
}

impl Phrase<'_> {
    pub(super) fn names_limb(&self) -> bool {
        !self.limbs.is_empty() || !self.sides.is_empty() || self.pair.is_some()
    }

    pub(super) fn is_empty(&self) -> bool {
        !self.names_limb() && self.spot.is_none() && self.aspect.is_none()
    }
}

/// What a spot comes to on one limb or side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum At {
    Limb(Limb),
    Side(Side),
}

impl At {
    pub(super) fn side(self) -> Side {
        match self {
            At::Limb(limb) => limb.side(),
            At::Side(side) => side,
        }
    }

    pub(super) fn limb(self) -> Option<Limb> {
        match self {
            At::Limb(limb) => Some(limb),
            At::Side(_) => None,
        }
    }
}

/// Where it is, or what to ask.
pub(super) enum Located {
    At(Vec<At>),
    Ask { question: String, choices: Vec<Choice> },
}

fn limb_choice(limb: Limb) -> Choice {
    Choice {
        side: Some(limb.side().code().to_owned()),
        limb: Some(limb.code().to_owned()),
        ..Choice::default()
    }
}

fn limb_of(pair: Pair, side: Side) -> Option<Limb> {
    Limb::ALL.into_iter().find(|limb| limb.is_fore() == (pair == Pair::Fore) && limb.side() == side)
}

fn pair_of(limb: Limb) -> Pair {
    if limb.is_fore() { Pair::Fore } else { Pair::Hind }
}

/// The limbs or sides that the phrase, with what carries on, means for a spot. `every`: without a side, all of them.
pub(super) fn locate(spot: &Spot, phrase: &Phrase<'_>, context: &Context, every: bool) -> Located {
    let limbs = spot.limbs();
    if limbs.is_empty() {
        return on_axis(spot, phrase, context, every);
    }
    let named = named_limbs(spot, phrase, context);
    let (found, asked) = match named {
        Named::Limbs(found) => (found, None),
        Named::Unclear(asked) => (Vec::new(), Some(asked)),
        Named::Nothing if phrase.plural => (limbs.clone(), None),
        Named::Nothing => (context.limbs.clone(), None),
    };
    let suited: Vec<At> =
        found.iter().filter(|limb| limbs.contains(limb)).map(|limb| At::Limb(*limb)).collect();
    if !suited.is_empty() {
        return Located::At(suited);
    }
    let asked = asked.unwrap_or(limbs);
    Located::Ask { question: "Which limb?".into(), choices: asked.into_iter().map(limb_choice).collect() }
}

enum Named {
    Limbs(Vec<Limb>),
    Unclear(Vec<Limb>),
    Nothing,
}

fn named_limbs(spot: &Spot, phrase: &Phrase<'_>, context: &Context) -> Named {
    if !phrase.limbs.is_empty() {
        return Named::Limbs(phrase.limbs.clone());
    }
    let sides: Vec<Side> = phrase.sides.iter().copied().filter(|side| *side != Side::M).collect();
    let both = [Side::L, Side::R];
    let of =
        |pair: Pair, sides: &[Side]| sides.iter().filter_map(|side| limb_of(pair, *side)).collect::<Vec<_>>();
    match (sides.is_empty(), phrase.pair) {
        (false, Some(pair)) => Named::Limbs(of(pair, &sides)),
        (true, Some(pair)) => {
            let carried: Vec<Limb> =
                context.limbs.iter().copied().filter(|limb| pair_of(*limb) == pair).collect();
            match (phrase.plural, carried.is_empty()) {
                (true, _) => Named::Limbs(of(pair, &both)),
                (false, false) => Named::Limbs(carried),
                (false, true) => Named::Unclear(of(pair, &both)),
            }
        }
        (false, None) if spot.on_both_pairs() => {
            let same = context.spot.as_ref().is_some_and(|carried| carried.code == spot.code);
            let same = same || sides.len() == 2;
            if let Some(limb) = context.limbs.first().filter(|_| same) {
                return Named::Limbs(of(pair_of(*limb), &sides));
            }
            let pairs = [Pair::Fore, Pair::Hind];
            let all = sides.iter().flat_map(|side| pairs.iter().filter_map(|pair| limb_of(*pair, *side)));
            Named::Unclear(all.collect())
        }
        (false, None) => {
            Named::Limbs(spot.limbs().into_iter().filter(|limb| sides.contains(&limb.side())).collect())
        }
        (true, None) => Named::Nothing,
    }
}

fn on_axis(spot: &Spot, phrase: &Phrase<'_>, context: &Context, every: bool) -> Located {
    let mut sides = phrase.sides.clone();
    if sides.is_empty() {
        sides = phrase.limbs.iter().map(|limb| limb.side()).collect();
        sides.dedup();
    }
    let regions = spot.axial.iter().filter_map(|code| catalogue().region(code));
    let recorded: Vec<Sides> = regions.map(|region| region.sides).collect();
    let all: Vec<Side> = [Side::L, Side::M, Side::R]
        .into_iter()
        .filter(|side| recorded.iter().any(|sides| sides.each().contains(side)))
        .collect();
    if sides.is_empty() && (every || phrase.plural) {
        sides.clone_from(&all);
    }
    if sides.is_empty() && phrase.spot.is_none() {
        sides.clone_from(&context.sides);
    }
    if sides.is_empty() && recorded.iter().all(|sides| sides.each().contains(&Side::M)) {
        sides = vec![Side::M];
    }
    if sides.is_empty() {
        sides.clone_from(&context.sides);
    }
    if sides.is_empty() {
        sides = context.limbs.iter().map(|limb| limb.side()).collect();
        sides.dedup();
    }
    let sides: Vec<At> = sides.into_iter().filter(|side| all.contains(side)).map(At::Side).collect();
    if !sides.is_empty() {
        return Located::At(sides);
    }
    let choices =
        all.into_iter().map(|side| Choice { side: Some(side.code().to_owned()), ..Choice::default() });
    Located::Ask { question: "Which side?".into(), choices: choices.collect() }
}

/// The spot's places there.
pub(super) fn places(spot: &Spot, at: At) -> Vec<Place> {
    let on_limb = at
        .limb()
        .into_iter()
        .flat_map(|limb| spot.on(limb).iter().filter_map(move |code| Place::on(code, limb).ok()));
    let axial = spot.axial.iter().filter_map(|code| Place::new(code, at.side(), None).ok());
    on_limb.chain(axial).collect()
}

/// One place for a finding, under the name it has there; or the places to ask about.
pub(super) enum Chosen {
    One { place: Place, finding: String, aspect: Option<String> },
    Several(Vec<Place>),
}

pub(super) fn choose(spot: &Spot, at: At, finding: &str, aspect: Option<&str>) -> Chosen {
    let places = places(spot, at);
    let here = |code: &str| places.iter().copied().find(|place| place.region().code == code);
    let by_aspect = aspect.and_then(|aspect| spot.aspect.get(aspect)).and_then(|code| here(code));
    let default = spot.default.get(finding).or_else(|| spot.default.get("*"));
    let by_default = default.and_then(|value| {
        value.split('|').find_map(|value| {
            let (code, renamed) = value.split_once(':').unwrap_or((value, finding));
            let limb = at.limb();
            let place = here(code).or_else(|| Place::on(code, limb?).ok());
            place.map(|place| (place, renamed.to_owned()))
        })
    });
    let keeps = |place: Place, picked: bool| {
        aspect
            .filter(|aspect| !picked || (place.region().aspects && matches!(*aspect, "medial" | "lateral")))
            .map(str::to_owned)
    };
    match (by_aspect, by_default, places.as_slice()) {
        (Some(place), _, _) => {
            Chosen::One { place, finding: finding.to_owned(), aspect: keeps(place, places.len() > 1) }
        }
        (None, _, &[place]) if default.is_none_or(|value| !value.contains(':')) => {
            Chosen::One { place, finding: finding.to_owned(), aspect: keeps(place, false) }
        }
        (None, Some((place, finding)), _) => Chosen::One { place, finding, aspect: keeps(place, false) },
        _ => Chosen::Several(places),
    }
}

/// How a place stands in a choice.
pub(super) fn place_choice(place: Place, finding: Option<&str>) -> Choice {
    Choice {
        region: Some(place.region().code.clone()),
        side: Some(place.side().code().to_owned()),
        limb: place.limb().map(|limb| limb.code().to_owned()),
        finding: finding.map(str::to_owned),
    }
}

/// Whether "foot" alone is meant: its sweep, not its single places.
pub(super) fn is_foot(spot: &Spot) -> bool {
    spot.foot.len() > 1
        && spot.foot.iter().all(|code| catalogue().region(code).is_some_and(|r| r.group == Group::Foot))
}

/// Reads the places said from `at` on; several when they were joined.
pub(super) fn phrases<'v>(
    pieces: &[Piece<'v>],
    at: usize,
    tells: &Tells,
) -> Option<(Vec<Phrase<'v>>, usize)> {
    if !tells.begins(pieces, at) {
        return None;
    }
    let mut reader =
        PhraseReader { pieces, tells, done: Vec::new(), open: Phrase::default(), part: false, at };
    while reader.step() {}
    let end = reader.at;
    reader.done.push(reader.open);
    Some((share_limbs(reader.done), end))
}

/// A list shares the limb that one of its places was given.
fn share_limbs(mut phrases: Vec<Phrase<'_>>) -> Vec<Phrase<'_>> {
    let order: Vec<usize> = (1..phrases.len()).collect();
    for &index in &order {
        copy_limb(&mut phrases, index - 1, index);
    }
    for &index in order.iter().rev() {
        copy_limb(&mut phrases, index, index - 1);
    }
    for &index in &order {
        // "medial and lateral suspensory branches", "the branch medially and laterally".
        let (before, own) = (phrases[index - 1].spot.clone(), phrases[index].spot.clone());
        match (before, own) {
            (None, Some(own)) if phrases[index - 1].aspect.is_some() => phrases[index - 1].spot = Some(own),
            (Some(before), None) if phrases[index].aspect.is_some() => phrases[index].spot = Some(before),
            _ => {}
        }
    }
    phrases
}

fn copy_limb(phrases: &mut [Phrase<'_>], from: usize, to: usize) {
    if !phrases[to].names_limb() && phrases[from].names_limb() {
        let (limbs, sides, pair) =
            (phrases[from].limbs.clone(), phrases[from].sides.clone(), phrases[from].pair);
        (phrases[to].limbs, phrases[to].sides, phrases[to].pair) = (limbs, sides, pair);
    }
}

/// What decides whether a word with two faces is a place in this clause.
pub(super) struct Tells {
    /// Hoof testers are spoken of: "toe" and "frog" are their sites.
    pub testers: bool,
    /// "splint" and "curb" name the place, because something else is found there.
    pub dual_is_place: bool,
}

impl Tells {
    /// The spot a piece names here.
    pub(super) fn spot(&self, piece: &Piece<'_>) -> Option<(Arc<Spot>, bool)> {
        if self.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return None;
        }
        piece.get(|m| match m {
            Meaning::Spot { spot, plural } => Some((Arc::clone(spot), *plural)),
            Meaning::Sign { spot, or_place: true, plural, .. } if self.dual_is_place => {
                Some((Arc::clone(spot), *plural))
            }
            _ => None,
        })
    }

    fn names(&self, piece: &Piece<'_>) -> bool {
        piece.is_limbish() || self.spot(piece).is_some()
    }

    /// Whether a place begins here.
    pub(super) fn begins(&self, pieces: &[Piece<'_>], at: usize) -> bool {
        let Some(piece) = pieces.get(at) else { return false };
        if self.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return false;
        }
        let aspect = |piece: &Piece<'_>| piece.is(|m| matches!(m, Meaning::Aspect(_)));
        let leads = aspect(piece) || piece.is(|m| matches!(m, Meaning::WeakSide(_)));
        let mut last = at;
        while let Some([and, other]) = pieces.get(last + 1..last + 3)
            && and.joins()
            && aspect(other)
        {
            last += 2;
        }
        let letter = piece.look == Look::Capital && piece.is(|m| matches!(m, Meaning::WeakSide(_)));
        self.names(piece) || letter || (leads && self.next(pieces, last + 1).is_some())
    }

    /// The next piece that belongs to a place, past small words.
    fn next(&self, pieces: &[Piece<'_>], at: usize) -> Option<usize> {
        let next = (at..pieces.len()).find(|&next| !pieces[next].is_filler())?;
        let belongs = self.names(&pieces[next])
            || (pieces[next].is(|m| matches!(m, Meaning::Aspect(_) | Meaning::WeakSide(_)))
                && !(self.testers && pieces[next].is(|m| matches!(m, Meaning::TesterSite(_)))));
        belongs.then_some(next)
    }
}

struct PhraseReader<'a, 'v> {
    pieces: &'a [Piece<'v>],
    tells: &'a Tells,
    done: Vec<Phrase<'v>>,
    open: Phrase<'v>,
    /// "the flexor tendons of": what follows only says where they lie.
    part: bool,
    at: usize,
}

impl<'v> PhraseReader<'_, 'v> {
    /// Takes one piece; false where the place ends.
    fn step(&mut self) -> bool {
        let Some(piece) = self.pieces.get(self.at) else { return false };
        if self.take(piece, false) {
            self.at += 1;
            return true;
        }
        if piece.is_filler()
            && let Some(next) = self.tells.next(self.pieces, self.at + 1)
        {
            let next_piece = &self.pieces[next];
            self.part |= self.open.spot.is_some() && piece.is(|m| matches!(m, Meaning::Preposition));
            if self.take(next_piece, false) {
                self.open.of.extend(self.pieces[self.at..next].iter().cloned());
                self.at = next + 1;
                return true;
            }
        }
        if piece.joins()
            && let Some(next) = self.tells.next(self.pieces, self.at + 1)
        {
            let next_piece = &self.pieces[next];
            if self.take(next_piece, true) {
                self.at = next + 1;
                return true;
            }
        }
        false
    }

    /// Whether the piece goes into the open place, or begins the next of a list.
    fn take(&mut self, piece: &Piece<'v>, joined: bool) -> bool {
        if self.tells.testers && piece.is(|m| matches!(m, Meaning::TesterSite(_))) {
            return false;
        }
        if let Some((spot, plural)) = self.tells.spot(piece) {
            return self.take_spot(spot, plural, piece, joined);
        }
        if piece.is_limbish() || piece.is(|m| matches!(m, Meaning::WeakSide(_))) {
            return self.take_limb(piece, joined);
        }
        if piece.is(|m| matches!(m, Meaning::Down)) && self.open.spot.is_some() {
            self.open.down = true;
            return self.keep(piece);
        }
        let Some(aspect) =
            piece.get(|m| if let Meaning::Aspect(aspect) = m { Some(aspect.clone()) } else { None })
        else {
            return piece.is(|m| matches!(m, Meaning::LimbWord)) && self.keep(piece);
        };
        if self.open.aspect.is_some() {
            if !joined {
                return false;
            }
            self.begin_next();
        }
        self.open.aspect = Some(aspect);
        self.keep(piece)
    }

    fn keep(&mut self, piece: &Piece<'v>) -> bool {
        self.open.of.push(piece.clone());
        true
    }

    fn begin_next(&mut self) {
        let done = std::mem::take(&mut self.open);
        self.done.push(done);
    }

    fn take_spot(&mut self, spot: Arc<Spot>, plural: bool, piece: &Piece<'v>, joined: bool) -> bool {
        let Some(before) = self.open.spot.clone() else {
            self.open.spot = Some(spot);
            self.open.plural |= plural;
            return self.keep(piece);
        };
        if before.code == spot.code {
            return self.keep(piece);
        }
        let of_foot = !before.foot.is_empty() || !spot.foot.is_empty();
        // Side by side: the narrower word says which place the wider one means.
        let narrowed = match before.breadth().cmp(&spot.breadth()) {
            _ if joined || !(of_foot || before.meets(&spot)) => None,
            Ordering::Greater => Some(spot.narrowed(&before)),
            Ordering::Less => Some(before.narrowed(&spot)),
            Ordering::Equal => None,
        };
        if let Some(narrowed) = narrowed {
            self.open.spot = Some(Arc::new(narrowed));
            return self.keep(piece);
        }
        if of_foot && !joined {
            return false;
        }
        if self.part && !joined {
            return self.keep(piece);
        }
        // "SDFT DDFT thick": a list, with or without a word between.
        self.begin_next();
        self.open.spot = Some(spot);
        self.open.plural = plural;
        self.keep(piece)
    }

    fn take_limb(&mut self, piece: &Piece<'v>, joined: bool) -> bool {
        if self.says_which_pair(piece) {
            return self.keep(piece);
        }
        let both = piece.is(|m| matches!(m, Meaning::BothSides));
        if both && !joined && self.open.limbs.len() > 1 {
            // "his back legs are both filled"
            return self.keep(piece);
        }
        if both && self.open.pair.is_some() && self.open.sides.is_empty() {
            // "fore tendons both"
            self.open.sides = vec![Side::L, Side::R];
            return self.keep(piece);
        }
        let open = &self.open;
        let full = !open.limbs.is_empty();
        if open.spot.is_some() && open.names_limb() {
            if !joined {
                return false;
            }
            self.begin_next();
        } else if full && !joined {
            // "RH hind fetlock"
            let pair = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None });
            let same = pair.is_some_and(|pair| open.limbs.iter().all(|limb| pair_of(*limb) == pair));
            return same && self.keep(piece);
        }
        if let Some(limbs) = piece.limbs() {
            if !self.open.sides.is_empty() && !joined {
                return false;
            }
            self.open.limbs.extend(limbs.iter().copied());
        } else if let Some(pair) = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None })
        {
            self.open.pair = Some(pair);
            // "unshod behind"
            self.open.plural |= piece.is(|m| matches!(m, Meaning::Preposition));
        } else {
            let side = piece.get(|m| match m {
                Meaning::Side(side) | Meaning::WeakSide(side) => Some(vec![*side]),
                Meaning::BothSides => Some(vec![Side::L, Side::R]),
                _ => None,
            });
            let Some(sides) = side else { return false };
            if !self.open.sides.is_empty() && !joined {
                return false;
            }
            self.open.sides.extend(sides);
        }
        self.keep(piece)
    }
}

impl PhraseReader<'_, '_> {
    /// "both coffin joints of the forelimbs": the sides stand before the place, the pair after it.
    fn says_which_pair(&mut self, piece: &Piece<'_>) -> bool {
        let open = &mut self.open;
        if open.spot.is_none() || open.sides.is_empty() || !open.limbs.is_empty() || open.pair.is_some() {
            return false;
        }
        let pair = piece.get(|m| if let Meaning::Pair(pair) = m { Some(*pair) } else { None });
        let limbs = piece.limbs().unwrap_or_default();
        let fits =
            limbs.len() == open.sides.len() && limbs.iter().all(|limb| open.sides.contains(&limb.side()));
        let of_limbs = limbs.first().filter(|_| fits).map(|limb| pair_of(*limb));
        open.pair = pair.or(of_limbs.filter(|pair| limbs.iter().all(|limb| pair_of(*limb) == *pair)));
        open.pair.is_some()
    }
}

/// Keeps what a phrase names for the clauses after it.
pub(super) fn carry(context: &mut Context, phrase: &Phrase<'_>, at: &[At]) {
    let limbs: Vec<Limb> = at.iter().filter_map(|at| at.limb()).collect();
    if limbs.is_empty() {
        if !at.is_empty() {
            context.sides = at.iter().map(|at| at.side()).collect();
            context.limbs.clear();
        }
    } else {
        context.limbs = limbs;
        context.sides.clear();
    }
    if phrase.spot.is_some() {
        context.spot.clone_from(&phrase.spot);
        context.aspect.clone_from(&phrase.aspect);
    } else if phrase.aspect.is_some() {
        context.aspect.clone_from(&phrase.aspect);
    }
}
