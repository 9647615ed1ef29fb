//! What blocks numb, whatever the answer was: the field for the picture of the horse.

use super::{
    LocaliseError,
    input::{self, Done, WorkUp, block_on},
    likelihood::{Setting, Way, chance, published},
};
use crate::catalogue::localise::{Localising, Structure};

/// How far a structure is numb.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// In a few limbs.
    Possible,
    /// In part, or in some limbs.
    Partial,
    /// Usually.
    Full,
}

/// A structure that is numb, and the chance of it.
#[derive(Debug)]
pub struct Numb<'a> {
    pub structure: &'a Structure,
    pub level: Level,
    pub chance: f64,
}

/// What the blocks of a work-up numb together, distal first. A block whose skin test failed numbs nothing that one
/// could rely on.
pub fn numb<'a>(work: &WorkUp, rows: &'a Localising) -> Result<Vec<Numb<'a>>, LocaliseError> {
    input::check(work)?;
    let setting = Setting::of(work, rows);
    let full = setting.rows.number("numb_from");
    let partial = setting.rows.number("widened_to").min(full);
    let level = |p: f64| match p {
        p if p >= full => Some(Level::Full),
        p if p >= partial => Some(Level::Partial),
        p if p >= partial / 4.0 => Some(Level::Possible),
        _ => None,
    };
    let mut field = Vec::new();
    for structure in setting.rows.sources(work.limb) {
        let mut most = 0.0_f64;
        for done in work.blocks.iter().filter(|done| done.skin_numb != Some(false)) {
            most = most.max(reach(work, &setting, structure, done)?);
        }
        field.extend(level(most).map(|level| Numb { structure, level, chance: most }));
    }
    Ok(field)
}

/// The chance that one block numbs a structure by its last reading, or by the time that it is first read.
fn reach(
    work: &WorkUp,
    setting: &Setting<'_>,
    structure: &Structure,
    done: &Done,
) -> Result<f64, LocaliseError> {
    let block = block_on(work.limb, &done.block)?;
    let Some(clock) = setting.rows.clocks.get(&block.code) else { return Ok(0.0) };
    let minutes = done.read.iter().map(|read| read.minutes).fold(clock.assess_min, f64::max);
    let mut way = Way::of(done, minutes);
    way.wide = minutes > clock.late_min || done.volume_ml.is_some_and(|ml| ml > clock.ml_most);
    let published = published(setting, &block.code, &way);
    Ok(chance(setting, &structure.code, &block.code, &way, &published).p)
}
