//! What the places of one list share: limb, side, pair, and the word that a direction picks a place of.

use std::sync::Arc;

use crate::{
    catalogue::{
        catalogue,
        words::{Meaning, Spot},
    },
    reasoning::line::{piece::Piece, place::Phrase},
};

/// A list shares the limb that one of its places was given.
pub(super) fn share_limbs(mut phrases: Vec<Phrase<'_>>) -> Vec<Phrase<'_>> {
    let order: Vec<usize> = (1..phrases.len()).collect();
    for &index in &order {
        share_pair(&mut phrases, index);
    }
    for &index in &order {
        copy_limb(&mut phrases, index - 1, index);
    }
    for &index in order.iter().rev() {
        // "the poll and the left jaw": the side stands before the second alone.
        if phrases[index - 1].spot.is_none() || !leads_with_limb(&phrases[index]) {
            copy_limb(&mut phrases, index, index - 1);
        }
    }
    for &index in &order {
        // "medial and lateral suspensory branches", "the branch medially and laterally".
        let (before, own) = (phrases[index - 1].spot.clone(), phrases[index].spot.clone());
        match (before, own) {
            (None, Some(own)) if phrases[index - 1].aspect.is_some() => {
                let aspect = phrases[index - 1].aspect.clone().unwrap_or_default();
                phrases[index - 1].spot = Some(wider(&own, &aspect).unwrap_or(own));
            }
            (Some(before), None) if phrases[index].aspect.is_some() => phrases[index].spot = Some(before),
            _ => {}
        }
    }
    phrases
}

/// The wider word that the direction picks a place of, where the other place is one of its own: "dorsal and palmar
/// fetlock".
fn wider(own: &Spot, aspect: &str) -> Option<Arc<Spot>> {
    let spots = &catalogue().words.spots;
    let wide = spots.iter().find(|wide| {
        own.breadth() == 1 && wide.aspect.contains_key(aspect) && wide.breadth() > 1 && wide.meets(own)
    })?;
    Some(Arc::new(wide.clone()))
}

/// "the left coffin joint or fetlock in front": the side is that of both, and so is the pair.
fn share_pair(phrases: &mut [Phrase<'_>], index: usize) {
    let (before, own) = (&phrases[index - 1], &phrases[index]);
    let leads = before.limbs.is_empty() && before.pair.is_none() && !before.sides.is_empty();
    let paired = own.limbs.is_empty() && own.sides.is_empty() && own.spot.is_some();
    let trails = own.of.last().is_some_and(|piece| piece.is(|m| matches!(m, Meaning::Pair(_))));
    if let Some(pair) = own.pair.filter(|_| leads && paired && trails) {
        let sides = phrases[index - 1].sides.clone();
        phrases[index].sides = sides;
        phrases[index - 1].pair = Some(pair);
    }
}

pub(super) fn copy_limb(phrases: &mut [Phrase<'_>], from: usize, to: usize) {
    if !phrases[to].names_limb() && phrases[from].names_limb() {
        let (limbs, sides, pair) =
            (phrases[from].limbs.clone(), phrases[from].sides.clone(), phrases[from].pair);
        (phrases[to].limbs, phrases[to].sides, phrases[to].pair) = (limbs, sides, pair);
    }
}

/// Whether the limb or side stands before the place.
fn leads_with_limb(phrase: &Phrase<'_>) -> bool {
    let limb = phrase.of.iter().position(Piece::is_limbish);
    let spot = phrase.of.iter().position(Piece::is_spot);
    matches!((limb, spot), (Some(limb), Some(spot)) if limb < spot)
}
