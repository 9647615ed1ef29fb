//! Which studies are proposed, and why: from a place of the examination, an imaging set of the work-up, or everything
//! that was found abnormal.

use crate::{
    catalogue::{Limb, Place, Study, catalogue},
    exam::state::place_of,
    papers::words,
    record::{Entry, Kind},
};

/// More than this is no help any more; the whole list stands below.
const MOST: usize = 8;

/// A study to order in one tap.
#[derive(Debug, Clone)]
pub(super) struct Proposal {
    pub study: &'static Study,
    pub limb: Option<Limb>,
    /// Key of the place of the examination behind it; empty where there is none.
    pub place: String,
    /// What was found there, in words.
    pub why: String,
}

impl Proposal {
    fn new(study: &'static Study, limb: Option<Limb>, place: String, why: String) -> Self {
        Proposal { study, limb: limb.filter(|limb| study.limbs.suit(*limb)), place, why }
    }

    /// "left fore fetlock": side and study in words.
    pub(super) fn words(&self) -> String {
        match self.limb {
            Some(limb) => format!("{} {}", limb.name(), self.study.name),
            None => self.study.name.clone(),
        }
    }
}

/// What was asked for by address: for what, in words, and the studies that fit. `None` where nothing was asked.
pub(super) fn asked(place: &str, set: &str, limb: Option<Limb>) -> Option<(String, Vec<Proposal>)> {
    let diagnostics = &catalogue().diagnostics;
    if let Ok(place) = place.parse::<Place>() {
        let studies = diagnostics.at_place(place).into_iter();
        let new = |study| Proposal::new(study, place.limb(), place.key(), String::new());
        return Some((place.to_string(), studies.map(new).collect()));
    }
    let row = catalogue().localise.imaging.get(set)?;
    let studies = diagnostics.answering(set, limb).into_iter();
    let new = |study| Proposal::new(study, limb, String::new(), String::new());
    let words = match limb {
        Some(limb) => format!("{}, {}", row.name, limb.name()),
        None => row.name.clone(),
    };
    Some((words, studies.map(new).collect()))
}

/// Studies of the places where something was found, the first places of the examination first.
pub(super) fn from_findings(entries: &[Entry]) -> Vec<Proposal> {
    let mut proposals: Vec<Proposal> = Vec::new();
    let bodies = entries.iter().filter_map(|entry| entry.body.as_ref());
    let found = bodies.filter(|body| body.kind == Kind::Finding && body.present == Some(true));
    for (place, body) in found.filter_map(|body| Some((place_of(body)?, body))) {
        for study in catalogue().diagnostics.at_place(place) {
            let new = Proposal::new(
                study,
                place.limb(),
                place.key(),
                words::sentence(body, words::Units::default()),
            );
            let same = |old: &&mut Proposal| old.study.code == new.study.code && old.limb == new.limb;
            match proposals.iter_mut().find(same) {
                Some(old) if !old.why.contains(&new.why) => old.why = format!("{}; {}", old.why, new.why),
                Some(_) => {}
                None => proposals.push(new),
            }
        }
    }
    proposals.truncate(MOST);
    proposals
}
