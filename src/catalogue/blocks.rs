//! Diagnostic blocks by name (`data/blocks.toml`): on which limbs they are done and what they go into.

use serde::Deserialize;

use super::{Confidence, Limb, Pair, row::rows};

/// What a block goes into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BlockKind {
    Nerve,
    /// A joint, a sheath or a bursa.
    Synovial,
    /// Tissue: the origin of a ligament, the space between two processes.
    Region,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    pub code: String,
    pub name: String,
    /// Empty for blocks of the trunk.
    pub limbs: Vec<Pair>,
    pub kind: BlockKind,
    pub source: String,
    pub confidence: Confidence,
}

impl Block {
    /// Whether the block is done on this limb.
    pub fn suits(&self, limb: Limb) -> bool {
        self.limbs.contains(&Pair::of(limb))
    }

    /// Whether skin goes numb with it, so that it can be tested there.
    pub fn is_nerve(&self) -> bool {
        self.kind == BlockKind::Nerve
    }
}

rows!(Block);
