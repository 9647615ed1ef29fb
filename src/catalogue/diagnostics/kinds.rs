//! What kind of study something is, and where on the horse it is done.

use serde::Deserialize;

use crate::catalogue::{Limb, Part};

/// What kind of study it is. Its items are projections for a radiograph, rows of `items.tsv` for all others.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StudyKind {
    Radiograph,
    Ultrasound,
    BoneScan,
    Biopsy,
    Blood,
    Synovial,
    /// Magnetic resonance, computed tomography, thermography.
    Other,
}

impl StudyKind {
    pub const ALL: [Self; 7] = [
        Self::Radiograph,
        Self::Ultrasound,
        Self::BoneScan,
        Self::Biopsy,
        Self::Blood,
        Self::Synovial,
        Self::Other,
    ];

    pub fn code(self) -> &'static str {
        match self {
            Self::Radiograph => "radiograph",
            Self::Ultrasound => "ultrasound",
            Self::BoneScan => "bone_scan",
            Self::Biopsy => "biopsy",
            Self::Blood => "blood",
            Self::Synovial => "synovial",
            Self::Other => "other",
        }
    }

    /// For people, as the head of a list.
    pub fn name(self) -> &'static str {
        match self {
            Self::Radiograph => "radiographs",
            Self::Ultrasound => "ultrasound",
            Self::BoneScan => "bone scan",
            Self::Biopsy => "muscle biopsy",
            Self::Blood => "blood",
            Self::Synovial => "synovial fluid",
            Self::Other => "other imaging",
        }
    }

    /// The same as the head of a page's section.
    pub fn heading(self) -> &'static str {
        match self {
            Self::Radiograph => "Radiographs",
            Self::Ultrasound => "Ultrasound",
            Self::BoneScan => "Bone scans",
            Self::Biopsy => "Muscle biopsies",
            Self::Blood => "Blood",
            Self::Synovial => "Synovial fluid",
            Self::Other => "Other imaging",
        }
    }

    /// What is done with one item.
    pub fn done(self) -> &'static str {
        match self {
            Self::Ultrasound | Self::BoneScan => "scanned",
            _ => "taken",
        }
    }

    /// What the imaging standard (DICOM PS3.3 C.7.3.1.1.1) calls the equipment; samples have none.
    pub fn modality(self) -> Option<&'static str> {
        match self {
            Self::Radiograph => Some("DX"),
            Self::Ultrasound => Some("US"),
            Self::BoneScan => Some("NM"),
            Self::Other => Some("OT"),
            Self::Biopsy | Self::Blood | Self::Synovial => None,
        }
    }

    pub fn of(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }
}

/// Where a study is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StudyLimbs {
    Fore,
    Hind,
    /// Any of the four.
    Any,
    /// Neck, back and pelvis: no limb.
    Trunk,
    /// The horse as such.
    Whole,
}

impl StudyLimbs {
    /// Whether a limb is named in the order.
    pub fn has_limb(self) -> bool {
        matches!(self, Self::Fore | Self::Hind | Self::Any)
    }

    /// Whether the study is done on this limb; a trunk and a whole horse have none.
    pub fn suit(self, limb: Limb) -> bool {
        match self {
            Self::Fore => limb.is_fore(),
            Self::Hind => !limb.is_fore(),
            Self::Any => true,
            Self::Trunk | Self::Whole => false,
        }
    }
}

/// Which words for directions a radiograph's codes use.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Segment {
    /// Carpus, tarsus and below.
    Distal,
    Proximal,
    Trunk,
    Head,
}

impl Segment {
    /// The part of the body of this segment on a limb; the forelimb's where none is named.
    pub fn on(self, limb: Option<Limb>) -> Part {
        match (self, limb.is_none_or(Limb::is_fore)) {
            (Self::Distal, true) => Part::ForeDistal,
            (Self::Distal, false) => Part::HindDistal,
            (Self::Proximal, true) => Part::ForeProximal,
            (Self::Proximal, false) => Part::HindProximal,
            (Self::Trunk, _) => Part::Trunk,
            (Self::Head, _) => Part::Head,
        }
    }
}
