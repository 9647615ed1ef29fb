//! Directions of the nomenclature of radiographic projections (Smallwood et al. 1985, Vet Radiol 26:2), and the
//! parts of the body on which each is a word.

use std::fmt;

/// A side that the beam enters or leaves by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Direction {
    Dorsal,
    Ventral,
    Cranial,
    Caudal,
    Rostral,
    Left,
    Right,
    Lateral,
    Medial,
    Proximal,
    Distal,
    Palmar,
    Plantar,
}

use Direction::{
    Caudal, Cranial, Distal, Dorsal, Lateral, Left, Medial, Palmar, Plantar, Proximal, Right, Rostral,
    Ventral,
};

/// What may be written for a direction, longest first, so that `Pr` is not read as something before `R`. `Ca` is
/// how many British texts write `Cd`.
const WRITTEN: [(&str, Direction); 14] = [
    ("Cr", Cranial),
    ("Cd", Caudal),
    ("Ca", Caudal),
    ("Le", Left),
    ("Rt", Right),
    ("Pr", Proximal),
    ("Di", Distal),
    ("Pa", Palmar),
    ("Pl", Plantar),
    ("D", Dorsal),
    ("V", Ventral),
    ("R", Rostral),
    ("L", Lateral),
    ("M", Medial),
];

impl Direction {
    /// The direction that a text begins with, and how many letters it takes. Capitals do not matter: the standard
    /// itself prints `DdiO` and `MpaDiO`, and no reading becomes another by them.
    pub(super) fn at_start_of(text: &str) -> Option<(Self, usize)> {
        WRITTEN.iter().find_map(|(written, direction)| {
            let begins = text.get(..written.len())?.eq_ignore_ascii_case(written);
            begins.then_some((*direction, written.len()))
        })
    }

    pub fn code(self) -> &'static str {
        WRITTEN.iter().find(|(_, direction)| *direction == self).map_or("", |(written, _)| written)
    }

    /// "dorsal"
    pub fn word(self) -> &'static str {
        self.words().0
    }

    /// The word before another: "dorso" in "dorsopalmar". The sides of the horse stand apart: "left ".
    pub fn combining(self) -> &'static str {
        self.words().1
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Dorsal => ("dorsal", "dorso"),
            Ventral => ("ventral", "ventro"),
            Cranial => ("cranial", "cranio"),
            Caudal => ("caudal", "caudo"),
            Rostral => ("rostral", "rostro"),
            Left => ("left", "left "),
            Right => ("right", "right "),
            Lateral => ("lateral", "latero"),
            Medial => ("medial", "medio"),
            Proximal => ("proximal", "proximo"),
            Distal => ("distal", "disto"),
            Palmar => ("palmar", "palmaro"),
            Plantar => ("plantar", "plantaro"),
        }
    }

    /// Whether a beam that enters here can leave there along a straight axis.
    pub(super) fn faces(self, other: Self) -> bool {
        match self {
            Dorsal => matches!(other, Palmar | Plantar | Ventral),
            Ventral | Palmar | Plantar => other == Dorsal,
            Cranial | Rostral => other == Caudal,
            Caudal => matches!(other, Cranial | Rostral),
            Left => other == Right,
            Right => other == Left,
            Lateral => other == Medial,
            Medial => other == Lateral,
            Proximal => other == Distal,
            Distal => other == Proximal,
        }
    }
}

/// A part of the body, as far as the names of directions differ. Carpus and tarsus count as distal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    ForeDistal,
    ForeProximal,
    HindDistal,
    HindProximal,
    /// Neck, back and pelvis.
    Trunk,
    Head,
}

impl Part {
    /// Whether the direction is a word there.
    pub fn has(self, direction: Direction) -> bool {
        let along_limb = matches!(direction, Lateral | Medial | Proximal | Distal);
        match self {
            Self::ForeDistal => along_limb || matches!(direction, Dorsal | Palmar),
            Self::HindDistal => along_limb || matches!(direction, Dorsal | Plantar),
            Self::ForeProximal | Self::HindProximal => along_limb || matches!(direction, Cranial | Caudal),
            Self::Trunk => matches!(direction, Dorsal | Ventral | Cranial | Caudal | Left | Right),
            Self::Head => matches!(direction, Dorsal | Ventral | Rostral | Caudal | Left | Right),
        }
    }
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ForeDistal => "the carpus and below",
            Self::HindDistal => "the tarsus and below",
            Self::ForeProximal => "the forelimb above the carpus",
            Self::HindProximal => "the hindlimb above the tarsus",
            Self::Trunk => "the trunk",
            Self::Head => "the head",
        })
    }
}
