//! What the trade knows about localising pain with blocks (`data/localise/`): structures, which block numbs which,
//! published exceptions, the order of blocks, their clocks, and the pictures that follow.

mod beside;
mod check;
mod figures;
mod names;
mod order;
mod rows;
mod tables;

pub use beside::{Care, Compensation, Differential, Priority, Sides, Sign, Variant};
pub use figures::{Address, Bound, Figure};
pub use rows::{
    Agent, Answer, Clock, Effect, Hold, Holds, Imaging, MatrixRow, Number, Override, Rung, Severe, Standing,
    Structure, Support, Together, Weight, When,
};

use std::collections::BTreeMap;

use figures::LISTS;

use super::{
    Catalogue, CatalogueError, Files, Limb, Table,
    files::{Reader, single},
};

/// Everything behind a nerve-block work-up.
#[derive(Clone, Debug, Default)]
pub struct Localising {
    /// Distal first.
    pub structures: Table<Structure>,
    pub fore: Table<MatrixRow>,
    pub hind: Table<MatrixRow>,
    pub clocks: Table<Clock>,
    pub weights: Table<Weight>,
    /// Best first.
    pub answers: Table<Answer>,
    /// Best first.
    pub standings: Table<Standing>,
    pub numbers: Table<Number>,
    pub severe: Table<Severe>,
    pub agents: Table<Agent>,
    pub overrides: Table<Override>,
    pub ladder: Table<Rung>,
    pub imaging: Table<Imaging>,
    pub support: Table<Support>,
    pub together: Table<Together>,
    pub holds: Table<Hold>,
    pub variants: Table<Variant>,
    pub care: Table<Care>,
    pub compensation: Table<Compensation>,
    pub differentials: Table<Differential>,
    pub bounds: Table<Bound>,
    /// Where a practice's own value stands, and what was shipped there.
    pub own: BTreeMap<Address, f64>,
}

impl Localising {
    pub(super) fn read(files: &Files, catalogue: &Catalogue) -> Result<Self, CatalogueError> {
        let mut weights = Reader::new("localise/weights.toml", files.localise("weights.toml"))?;
        let mut needle = Reader::new("localise/needle.toml", files.localise("needle.toml"))?;
        let read = Self {
            structures: tables::structures("localise/structures.tsv", files.localise("structures.tsv"))?,
            fore: tables::matrix("localise/matrix_fore.tsv", files.localise("matrix_fore.tsv"))?,
            hind: tables::matrix("localise/matrix_hind.tsv", files.localise("matrix_hind.tsv"))?,
            clocks: tables::clock("localise/clock.tsv", files.localise("clock.tsv"))?,
            weights: weights.table("weight")?,
            answers: weights.table("answer")?,
            standings: weights.table("standing")?,
            numbers: weights.table("number")?,
            severe: weights.table("severe")?,
            agents: weights.table("agent")?,
            overrides: single("localise/overrides.toml", files.localise("overrides.toml"), "override")?,
            ladder: single("localise/ladder.toml", files.localise("ladder.toml"), "rung")?,
            imaging: single("localise/imaging.toml", files.localise("imaging.toml"), "imaging")?,
            support: single("localise/support.toml", files.localise("support.toml"), "support")?,
            together: single("localise/together.toml", files.localise("together.toml"), "together")?,
            holds: single("localise/holds.toml", files.localise("holds.toml"), "hold")?,
            variants: needle.table("variant")?,
            care: needle.table("care")?,
            compensation: single(
                "localise/compensation.toml",
                files.localise("compensation.toml"),
                "pattern",
            )?,
            differentials: tables::differentials(
                "localise/differentials.tsv",
                files.localise("differentials.tsv"),
            )?,
            bounds: single("localise/bounds.toml", files.localise("bounds.toml"), "bound")?,
            own: BTreeMap::new(),
        };
        weights.end()?;
        needle.end()?;
        check::check(&read, catalogue)?;
        beside::check(&read, catalogue)?;
        order::check(&read)?;
        Ok(read)
    }

    pub fn matrix(&self, limb: Limb) -> &Table<MatrixRow> {
        if limb.is_fore() { &self.fore } else { &self.hind }
    }

    /// The letter of a block for a structure; none for a block that the matrix of that limb does not know.
    pub fn weight(&self, limb: Limb, structure: &str, block: &str) -> Option<&Weight> {
        self.weights.get(self.matrix(limb).get(structure)?.letters.get(block)?)
    }

    /// The chance that a block numbs a structure: the practice's own, or the letter's.
    pub fn chance(&self, limb: Limb, structure: &str, block: &str) -> Option<f64> {
        let own = self.matrix(limb).get(structure)?.own.get(block).copied();
        own.or_else(|| Some(self.weight(limb, structure, block)?.chance))
    }

    /// A number by its code; the check at reading sees to it that those in use are there.
    pub fn number(&self, code: &str) -> f64 {
        self.numbers.get(code).map_or(0.0, |row| row.is)
    }

    /// Where pain can sit on this limb, distal first.
    pub fn sources(&self, limb: Limb) -> impl Iterator<Item = &Structure> {
        self.structures.iter().filter(move |row| row.suits(limb) && !row.is_check_site)
    }
}
