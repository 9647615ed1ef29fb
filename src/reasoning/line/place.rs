//! Places as they are said, and which places they come to.

use std::sync::Arc;

use super::{piece::Piece, reading::Choice, scene::Context};
use crate::catalogue::{Limb, Pair, Place, Side, Sides, catalogue, words::Spot};

/// "LF and RF fetlock", "left hock, medial": what was said of one place.
#[derive(Clone, Debug, Default)]
#[expect(clippy::struct_excessive_bools, reason = "independent ways in which a place can be said")]
pub(super) struct Phrase<'v> {
    pub limbs: Vec<Limb>,
    pub sides: Vec<Side>,
    pub pair: Option<Pair>,
    pub spot: Option<Arc<Spot>>,
    pub plural: bool,
    /// A heading: what is said after it may be of another place on that limb.
    pub heads: bool,
    /// Its limbs are those of a heading: "hinds: curb right".
    pub headed: bool,
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

pub(super) fn pair_of(limb: Limb) -> Pair {
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
        // "left fore: splints fine": there are two of them on that limb.
        Named::Nothing if phrase.plural && is_twin(spot, &context.limbs) => (context.limbs.clone(), None),
        // "both front feet ..., the feet are hot"
        Named::Nothing
            if phrase.plural
                && !(context.limbs.len() > 1 && context.limbs.iter().all(|limb| limbs.contains(limb))) =>
        {
            (limbs.clone(), None)
        }
        // "near shoulder blade wasted, the shoulder joint sore": a side of the axis goes on to a limb of that side.
        Named::Nothing if context.limbs.is_empty() && !spot.on_both_pairs() && context.sides != [Side::M] => {
            let of_side = limbs.iter().copied().filter(|limb| context.sides.contains(&limb.side()));
            (of_side.collect(), None)
        }
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

/// The left and the right one, where the word can mean no other two: "no curbs", "gluteals not sore".
pub(super) fn both(spot: &Spot) -> Option<Vec<At>> {
    let limbs = spot.limbs();
    if limbs.len() == 2 {
        return Some(limbs.into_iter().map(At::Limb).collect());
    }
    let mut regions = spot.axial.iter().filter_map(|code| catalogue().region(code)).peekable();
    let sided = regions.peek().is_some() && regions.all(|region| !region.sides.each().contains(&Side::M));
    (limbs.is_empty() && sided).then(|| vec![At::Side(Side::L), At::Side(Side::R)])
}

/// Whether each limb has one on either side of what the word means.
fn is_twin(spot: &Spot, limbs: &[Limb]) -> bool {
    let [limb] = limbs else { return false };
    let two = |code: &String| catalogue().region(code).is_some_and(|region| region.aspects);
    spot.foot.is_empty() && !spot.on(*limb).is_empty() && spot.on(*limb).iter().all(two)
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
            let pair = context.limbs.first().map(|limb| pair_of(*limb));
            let of_pair = context.limbs.iter().all(|limb| Some(pair_of(*limb)) == pair);
            // "thrush in both hind frogs, a deep sulcus on the left"
            let same = same || sides.len() == 2 || of_pair && !spot.foot.is_empty();
            if let Some(limb) = context.limbs.first().filter(|_| same) {
                return Named::Limbs(of(pair_of(*limb), &sides));
            }
            let pairs = [Pair::Fore, Pair::Hind];
            if let Some(pair) = spot.usual.filter(|_| context.limbs.is_empty()) {
                return Named::Limbs(of(pair, &sides));
            }
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
    if all == [Side::M] {
        // "tail carried to the left"
        sides = vec![Side::M];
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

/// Whether "foot" alone is meant: its sweep, not its single places, and not two of them ("hoof wall").
pub(super) fn is_foot(spot: &Spot) -> bool {
    let whole = catalogue().words.spots.get("foot").map_or(usize::MAX, |foot| foot.foot.len());
    spot.foot.len() >= whole
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
