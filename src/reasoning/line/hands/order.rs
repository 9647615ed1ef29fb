//! In which order a clause says things: places before what is found there or after it, grades before limbs or after.

use super::{Item, again::is_both};
use crate::{
    catalogue::{Limb, Pair, words::Meaning},
    reasoning::line::place::Phrase,
};

/// How a clause is built.
#[derive(Clone, Copy)]
pub(super) struct Flow {
    /// Findings come before their places.
    pub(super) backward: bool,
    /// Sides come after what was found there.
    pub(super) trails: bool,
}

pub(super) fn says(item: &Item<'_>) -> bool {
    matches!(item, Item::Run(run) if !run.says.is_empty())
}

/// "either", which may be no more than "too".
pub(super) fn is_either(phrases: &[Phrase<'_>]) -> bool {
    matches!(phrases, [either] if is_both(phrases) && either.of.iter().all(|piece| piece.is(|m| matches!(m, Meaning::Them))))
}

pub(super) fn is_whole(phrases: &[Phrase<'_>]) -> bool {
    phrases.iter().flat_map(|phrase| &phrase.of).any(|piece| piece.is(|m| matches!(m, Meaning::Whole)))
}

/// Only a grade: "1/4".
pub(super) fn is_grade(item: &Item<'_>) -> bool {
    matches!(item, Item::Run(run) if run.says.is_empty()
        && (run.loose_grade.is_some() || run.loose_absent.is_some()))
}

/// Grades come before their limbs: "1/4 LH, 2/4 RH".
pub(super) fn grades_lead(items: &[Item<'_>]) -> bool {
    items.first().is_some_and(is_grade) && matches!(items.last(), Some(Item::Places(_)))
}

/// Whether something is said before the next place is named.
pub(super) fn says_more(items: &[Item<'_>]) -> bool {
    let names = |item: &&Item<'_>| matches!(item, Item::Places(phrases) if phrases.iter().any(|phrase| phrase.spot.is_some()));
    items.iter().take_while(|item| !names(item)).any(says)
}

/// Findings come before their places throughout: "heat in the LF fetlock, mild effusion RH hock".
pub(super) fn is_backward(items: &[Item<'_>]) -> bool {
    let tells = |item: &&Item<'_>| says(item) || matches!(item, Item::Places(_));
    let (first, last) = (items.iter().find(tells), items.iter().rev().find(tells));
    let answered = items.last().is_some_and(is_grade);
    let places = items.iter().filter(|item| matches!(item, Item::Places(_))).count();
    first.is_some_and(says) && matches!(last, Some(Item::Places(_))) && (!answered || places == 1)
}

/// "left shoulder painful over the bicipital bursa": the place after is on the limb of the place before.
pub(super) fn within<'v>(next: &[Phrase<'v>], here: Option<&[Phrase<'v>]>) -> Vec<Phrase<'v>> {
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
pub(super) fn same(a: &[Phrase<'_>], b: &[Phrase<'_>]) -> bool {
    let from =
        |phrases: &[Phrase<'_>]| phrases.first().and_then(|phrase| phrase.of.first()).map(|piece| piece.from);
    from(a).is_some() && from(a) == from(b)
}

pub(super) fn is_other_limb(phrases: &[Phrase<'_>]) -> bool {
    phrases.first().is_some_and(|phrase| phrase.names_limb() && phrase.spot.is_none())
}

pub(super) fn copy_limb<'v>(to: &mut Phrase<'v>, from: &Phrase<'v>) {
    (to.limbs, to.sides, to.pair) = (from.limbs.clone(), from.sides.clone(), from.pair);
}

/// The pair that the place was named on.
pub(super) fn pair(place: &Phrase<'_>) -> Option<Pair> {
    let fore = |limb: &Limb| limb.is_fore();
    match place.limbs.as_slice() {
        [] => place.pair,
        limbs if limbs.iter().all(fore) => Some(Pair::Fore),
        limbs if !limbs.iter().any(fore) => Some(Pair::Hind),
        _ => None,
    }
}
