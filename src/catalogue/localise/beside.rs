//! What stands beside the reckoning on the page of the work-up: ways of doing a block, what to bear in mind after it,
//! fore and hind lameness together, and what else it could be.

use serde::Deserialize;

use crate::catalogue::{
    Block, BlockKind, Catalogue, CatalogueError, Confidence, Limb, Pair, check::known, row::rows, tsv::Line,
};

/// A way of doing a block that changes what it means.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Variant {
    pub code: String,
    pub name: String,
    pub blocks: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

/// What to bear in mind before the horse leaves.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Care {
    pub code: String,
    pub text: String,
    /// After blocks of these kinds, or these blocks; after any where neither is named.
    #[serde(default)]
    pub kinds: Vec<BlockKind>,
    #[serde(default)]
    pub blocks: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

impl Care {
    pub fn is_after(&self, block: &Block) -> bool {
        (self.kinds.is_empty() && self.blocks.is_empty())
            || self.kinds.contains(&block.kind)
            || self.blocks.contains(&block.code)
    }
}

/// On which sides fore and hind are lame together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    Same,
    Diagonal,
    Any,
}

/// What a fore and a hind lameness together make one think of.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Compensation {
    pub code: String,
    pub sides: Sides,
    pub name: String,
    pub reads: String,
    pub source: String,
    pub confidence: Confidence,
}

/// Something that a visit has or lacks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sign {
    /// A finding at one of these places.
    Finding(String, Vec<String>),
    Flexion(String),
    /// A block that made it better.
    Block(String),
}

/// Something that it could be.
#[derive(Clone, Debug)]
pub struct Differential {
    pub code: String,
    pub name: String,
    /// `E` emergency, `C` common, `U` uncommon, `R` rare.
    pub priority: Priority,
    pub limbs: Vec<Pair>,
    pub structures: Vec<String>,
    pub signs: Vec<Sign>,
    /// What else speaks for it; may be empty.
    pub tells: String,
    /// What would show it.
    pub tests: String,
    pub source: String,
    pub confidence: Confidence,
}

/// How often, and how pressing; the most pressing first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Priority {
    Emergency,
    Common,
    Uncommon,
    Rare,
}

impl Priority {
    pub fn name(self) -> &'static str {
        match self {
            Self::Emergency => "emergency",
            Self::Common => "common",
            Self::Uncommon => "uncommon",
            Self::Rare => "rare",
        }
    }
}

impl Differential {
    pub fn suits(&self, limb: Limb) -> bool {
        self.limbs.contains(&Pair::of(limb))
    }

    pub(super) fn read(line: &Line<'_>) -> Result<Self, CatalogueError> {
        let words = |column| line.text(column).map(|words| if words == "-" { "" } else { words }.to_owned());
        Ok(Self {
            code: line.text("code")?.to_owned(),
            name: line.text("name")?.to_owned(),
            priority: match line.text("priority")? {
                "E" => Priority::Emergency,
                "C" => Priority::Common,
                "U" => Priority::Uncommon,
                "R" => Priority::Rare,
                _ => return Err(line.refused("has no priority of E, C, U or R")),
            },
            limbs: line.pairs()?,
            structures: line.codes("structures")?,
            signs: line.codes("signs")?.iter().map(|word| sign(word)).collect(),
            tells: words("tells")?,
            tests: words("tests")?,
            source: line.text("source")?.to_owned(),
            confidence: line.confidence()?,
        })
    }
}

fn sign(word: &str) -> Sign {
    if let Some(block) = word.strip_prefix('+') {
        return Sign::Block(block.to_owned());
    }
    match word.split_once('@') {
        Some((finding, regions)) => {
            Sign::Finding(finding.to_owned(), regions.split(',').map(str::to_owned).collect())
        }
        None => Sign::Flexion(word.to_owned()),
    }
}

/// Every code that these rows name exists.
pub(super) fn check(read: &super::Localising, catalogue: &Catalogue) -> Result<(), CatalogueError> {
    for row in &read.structures {
        known("localise/structures.tsv", &row.code, &catalogue.regions, &row.regions)?;
    }
    for row in &read.variants {
        known("localise/needle.toml", &row.code, &catalogue.blocks, &row.blocks)?;
    }
    for row in &read.care {
        known("localise/needle.toml", &row.code, &catalogue.blocks, &row.blocks)?;
    }
    for row in &read.differentials {
        let file = "localise/differentials.tsv";
        known(file, &row.code, &read.structures, &row.structures)?;
        for sign in &row.signs {
            match sign {
                Sign::Flexion(code) => known(file, &row.code, &catalogue.flexions, [code])?,
                Sign::Block(code) => known(file, &row.code, &catalogue.blocks, [code])?,
                Sign::Finding(code, regions) => {
                    known(file, &row.code, &catalogue.findings, [code])?;
                    let places = regions.iter().filter(|code| catalogue.tester_site(code).is_none());
                    known(file, &row.code, &catalogue.regions, places)?;
                }
            }
        }
    }
    Ok(())
}

rows!(Variant, Care, Compensation, Differential);
