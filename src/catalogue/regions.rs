//! Regions: the places hands go to, and what is written down at each (`data/regions.toml`, `data/foot.toml`).

use serde::Deserialize;

use super::{Confidence, Limb, Side, row::rows};

/// Which part of the horse a region belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Head, neck, trunk and pelvis: no limb.
    Axial,
    Fore,
    Hind,
    /// Each of the four feet.
    Foot,
}

/// On which sides a region is recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
pub enum Sides {
    /// The midline only.
    M,
    /// Left and right apart.
    #[serde(rename = "LR")]
    LeftRight,
    /// The midline and each side of it.
    #[serde(rename = "M+LR")]
    MidlineLeftRight,
}

impl Sides {
    /// The sides themselves, in the order they are shown.
    pub fn each(self) -> &'static [Side] {
        match self {
            Self::M => &[Side::M],
            Self::LeftRight => &[Side::L, Side::R],
            Self::MidlineLeftRight => &[Side::L, Side::M, Side::R],
        }
    }
}

/// One region of the examination.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Region {
    /// Place in the whole-horse order.
    pub seq: u16,
    pub code: String,
    /// Words for people, without side or limb: "fetlock, dorsal".
    pub name: String,
    pub group: Group,
    pub sides: Sides,
    /// Medial and lateral are told apart here.
    pub aspects: bool,
    pub structures: Vec<String>,
    /// Codes of the findings to offer before all the others.
    pub offer: Vec<String>,
    /// The scale the place itself is graded on, where it has one (crest, pulse, testers).
    pub scale: Option<String>,
    /// May be covered by "no abnormality from here down".
    pub sweep: bool,
    pub significance: String,
    /// What else is written down here; only feet have some.
    #[serde(default)]
    pub fields: Vec<Field>,
    pub source: String,
    pub confidence: Confidence,
}

impl Region {
    /// Whether the region is found on this limb.
    pub fn is_on(&self, limb: Limb) -> bool {
        match self.group {
            Group::Axial => false,
            Group::Fore => limb.is_fore(),
            Group::Hind => !limb.is_fore(),
            Group::Foot => true,
        }
    }

    pub fn field(&self, key: &str) -> Option<&Field> {
        self.fields.iter().find(|field| field.key == key)
    }
}

/// How a [`Field`] is filled in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldKind {
    /// One of `picks`.
    Pick,
    /// Any of `picks`.
    Picks,
    /// A number in `unit`, between `min` and `max`.
    Number,
    /// A grade on `scale`.
    Scale,
    YesNo,
    Date,
}

/// Something to write down at a place besides findings.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Field {
    pub key: String,
    pub label: String,
    pub kind: FieldKind,
    #[serde(default)]
    pub picks: Vec<Pick>,
    pub scale: Option<String>,
    pub unit: Option<String>,
    pub min: Option<f64>,
    pub max: Option<f64>,
    /// Says what the foot is like, not what is wrong with it: nothing that is looked at again to see it gone.
    #[serde(default)]
    pub describes: bool,
}

impl Field {
    pub fn pick(&self, code: &str) -> Option<&Pick> {
        self.picks.iter().find(|pick| pick.code == code)
    }
}

/// One answer of a pick list.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pick {
    pub code: String,
    pub name: String,
    /// What "no abnormality" stands for.
    #[serde(default)]
    pub normal: bool,
    /// Wants attention before the examination goes on.
    #[serde(default)]
    pub red_flag: bool,
}

/// A place on the foot where the testers are closed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TesterSite {
    pub code: String,
    pub name: String,
    /// What a focal, repeatable response here makes one think of.
    pub suggests: String,
    /// Narrower sites that lie in it: "medial quarter of the sole" is one answer, at the narrower.
    #[serde(default)]
    pub covers: Vec<String>,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Region, TesterSite);
