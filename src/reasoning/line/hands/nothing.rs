//! Places and limbs of which nothing was found.

use std::sync::Arc;

use super::record::{Carry, Recorder, is_side, limbs_of};
use crate::{
    catalogue::{
        Limb, Place, Section, sweep_from, sweep_places,
        words::{Meaning, Spot},
    },
    reasoning::line::{
        piece::Piece,
        place::{self, At, Located, Phrase},
        reading::{Ask, Choice, Examined, Made},
        scene::Scene,
    },
};

impl<'v> Recorder<'_, 'v> {
    /// Nothing found at a place, over a foot, or over a whole limb.
    pub(super) fn nothing_found(&mut self, phrase: &Phrase<'v>, of: &[Piece<'v>], carry: Carry) {
        let limb_alone = (!phrase.limbs.is_empty() || phrase.pair.is_some()) && phrase.spot.is_none();
        let spot = match &phrase.spot {
            Some(spot) => Some(Arc::clone(spot)),
            None if limb_alone && carry == Carry::On && self.topic.is_some() => self.topic.clone(),
            None if limb_alone => None,
            None => self.scene.context.spot.clone().filter(|_| {
                // "left tarsocrural distended; the right is normal": a side alone is of the place before.
                carry == Carry::On || !phrase.names_limb() || is_side(phrase)
            }),
        };
        let Some(spot) = spot else {
            if phrase.sides.len() > 1 && is_side(phrase) && self.scene.context.limbs.len() < 2 {
                // "both clean" of nothing that was named
                return;
            }
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
                    // The highest of them begins the sweep.
                    let on_limb = places.iter().any(|place| place.limb().is_some());
                    let here = places.iter().filter(|place| !on_limb || place.limb().is_some());
                    let sweeps = here.map(|&first| sweep_from(first));
                    return sweeps.max_by_key(Vec::len).unwrap_or_default();
                }
                places
            })
            .collect();
        // The rest of the foot is fine whatever was found of it.
        let rest = of.iter().any(|piece| piece.is(|m| matches!(m, Meaning::Rest)));
        let covered =
            if rest { covered.into_iter().flatten().map(|place| vec![place]).collect() } else { covered };
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

    pub(super) fn sweep(&mut self, limb: Limb, of: &[Piece<'v>]) {
        self.rest.push((vec![limb], of.to_vec()));
    }

    pub(super) fn keep_rest(&mut self, phrase: &Phrase<'v>, of: Vec<Piece<'v>>) {
        let limbs = limbs_of(phrase, &self.scene.context.limbs);
        let of_limb = phrase.names_limb() || is_limb_said(&of, self.scene) || limbs.len() == 1;
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
    pub(super) fn sweep_the_rest(&mut self) {
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
    pub(super) fn is_found(&self, place: Place) -> bool {
        self.scene.rows.iter().any(|row| {
            matches!(&row.made, Made::Finding(finding) if finding.present
                && finding.region == place.region().code
                && finding.side == place.side().code()
                && finding.limb.as_deref() == place.limb().map(Limb::code))
        })
    }

    pub(super) fn is_examined(&self, place: Place) -> bool {
        self.scene.rows.iter().any(|row| matches!(&row.made, Made::Examined(row) if *row == examined(place)))
    }

    pub(super) fn is_spoken_of(&self, place: Place) -> bool {
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

/// A word for more regions than these means the whole axis.
const LONGEST_SPAN: usize = 6;

/// "rest of the limb", "limb otherwise": the word for the limb stands in it or right after.
pub(super) fn is_limb_said(of: &[Piece<'_>], scene: &Scene<'_>) -> bool {
    let Some(rest) = of.iter().min_by_key(|piece| piece.from) else { return false };
    scene
        .tokens
        .iter()
        .skip(rest.from)
        .take(8)
        .take_while(|token| token.is_word)
        .any(|token| matches!(token.norm.as_str(), "limb" | "leg"))
}

pub(super) fn limbs_at(limbs: &[Limb]) -> Vec<At> {
    limbs.iter().map(|limb| At::Limb(*limb)).collect()
}

pub(super) fn covered(spot: &Spot, at: At, aspect: Option<&str>) -> Vec<Place> {
    if spot.axial.len() > LONGEST_SPAN {
        let swept = sweep_places(Section::Axial);
        return swept.into_iter().filter(|place| place.side() == at.side()).collect();
    }
    if place::is_foot(spot) {
        return at.limb().map(|limb| sweep_places(Section::Foot(limb))).unwrap_or_default();
    }
    let picked = aspect.and_then(|aspect| spot.aspect.get(aspect));
    let all = place::places(spot, at);
    let narrowed: Vec<Place> =
        all.iter().copied().filter(|place| picked == Some(&place.region().code)).collect();
    if narrowed.is_empty() { all } else { narrowed }
}

pub(super) fn examined(place: Place) -> Examined {
    Examined {
        region: place.region().code.clone(),
        side: place.side().code().to_owned(),
        limb: place.limb().map(|limb| limb.code().to_owned()),
        text: String::new(),
    }
}
