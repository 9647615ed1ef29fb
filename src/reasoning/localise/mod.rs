//! Where the pain is, as far as diagnostic blocks can tell: candidates with their evidence, what blocks cannot
//! separate, which block would tell most next, which pictures fit, and what stops a block.
//!
//! Never a diagnosis: a person reads the evidence and decides. All trade numbers are handed in: the catalogue's, or the
//! practice's own in place of some.

mod evidence;
mod gain;
mod imaging;
mod input;
mod likelihood;
mod next;
mod numb;
mod output;
mod own;
mod score;
mod stops;
mod support;
mod together;
mod words;

pub use input::{Done, Lameness, Read, Seen, Site, WorkUp};
pub use numb::{Level, Numb, numb};
pub use output::{Candidate, Code, Localised, Next, Pictures};
pub use support::SEEN;

use crate::catalogue::localise::Localising;
use evidence::Evidence;
use likelihood::Setting;

/// A work-up that cannot be meant as it stands.
#[derive(Debug, thiserror::Error)]
pub enum LocaliseError {
    #[error("unknown {0} `{1}`")]
    Unknown(&'static str, String),
    #[error("block `{0}` is not done on a {1}")]
    Limb(String, &'static str),
    #[error("`{name}` is {number}; give {least} to {most}")]
    Number { name: &'static str, number: f64, least: f64, most: f64 },
    #[error("`injected_at` is `{0}`; give HH:MM or RFC 3339")]
    Time(String),
    #[error("a reading of `{0}` has neither `improvement_pct` nor `switched_to`")]
    NoAnswer(String),
    #[error("`switched_to` is `{0}`, the limb that was blocked")]
    SameLimb(&'static str),
}

/// What follows from the blocks of one limb, by these numbers. The same work-up always gives the same answer.
pub fn localise(work: &WorkUp, rows: &Localising) -> Result<Localised, LocaliseError> {
    input::check(work)?;
    let setting = Setting::of(work, rows);
    let evidence = Evidence::gather(work, &setting)?;
    let support = support::seen(work, rows);
    let scored = score::all(&evidence, &setting, &support);
    let halt = stops::halt(work, rows);
    let several = score::several_sources(&evidence, &scored, rows);
    let not_separable = together::groups(&evidence, &scored, &setting);
    let next = next::alternatives(&evidence, &scored, &setting, &support, &halt);
    let imaging = imaging::sets(&evidence, &scored, &support, &halt, rows);
    let mut caveats = evidence.caveats(work, &setting);
    caveats.extend(not_separable.iter().filter_map(|group| group.caveat.clone()));
    if several {
        caveats.push(words::several());
    }
    if words::is_unblocked(&evidence) {
        caveats.extend(words::unblocked());
    }
    caveats.extend(halt.caveats);
    Ok(Localised {
        field: words::field(&evidence, &scored, &setting),
        candidates: scored.into_iter().map(Candidate::from).collect(),
        caveats,
        not_separable: not_separable.into_iter().map(|group| group.structures).collect(),
        next,
        imaging,
        stops: halt.stops,
        several_sources: several,
    })
}
