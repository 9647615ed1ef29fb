//! A finding at each of its places: the one that is meant, or the ones that are asked about.

use std::sync::Arc;

use super::{
    made::{code_of, rows},
    open::Open,
    record::{Recorder, first_of},
    say::Say,
};
use crate::{
    catalogue::words::{Meaning, Spot},
    reasoning::line::{
        piece::Piece,
        place::{self, At, Chosen, Phrase},
        reading::Made,
    },
};

impl<'v> Recorder<'_, 'v> {
    pub(super) fn at_places(
        &mut self,
        say: &Say<'v>,
        phrase: &Phrase<'v>,
        (spot, at): (&Arc<Spot>, &[At]),
        of: &[Piece<'v>],
    ) {
        let again = first_of(phrase).is_some_and(|first| self.last_at == Some(first));
        let carried = if again || phrase.spot.is_none() && !phrase.names_limb() {
            self.scene.context.aspect.clone()
        } else {
            None
        };
        let aspect = say.aspect.clone().or_else(|| phrase.aspect.clone()).or(carried);
        let code = code_of(say);
        let mut open = Open::default();
        for &at in at {
            match self.as_before(place::choose(spot, at, &code, aspect.as_deref()), &code) {
                Chosen::One { place, finding, aspect } => {
                    self.meant.push(place.region().code.clone());
                    for row in rows(say, place, &finding, aspect) {
                        self.scene.push(Made::Finding(row), of.to_vec());
                    }
                }
                // "flexor tendons thick, no heat in the forearm": in each of them, in none of them.
                Chosen::Several(places)
                    if names(say)
                        && (spot.each || say.negated && places.len() == 2 && at.limb().is_some()) =>
                {
                    for place in places {
                        for row in rows(say, place, &code, aspect.clone()) {
                            self.scene.push(Made::Finding(row), of.to_vec());
                        }
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

    /// A word for several places means the one that it meant before in the line.
    pub(super) fn as_before(&self, chosen: Chosen, code: &str) -> Chosen {
        let Chosen::Several(places) = &chosen else { return chosen };
        let at = |region: &String| places.iter().find(|place| place.region().code == *region);
        let place = self.meant.iter().rev().find_map(at);
        match place {
            Some(&place) => Chosen::One { place, finding: code.to_owned(), aspect: None },
            None => chosen,
        }
    }
}

/// Whether it says what was looked for; "clean and tight" does not.
fn names(say: &Say<'_>) -> bool {
    !say.of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Lacks(_))))
}
