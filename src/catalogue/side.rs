//! Sides and limbs, as codes (`L`, `LF`) and as words ("left", "left fore").

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use super::PlaceError;

/// A side of the horse.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Side {
    L,
    /// The midline.
    M,
    R,
}

impl Side {
    pub fn code(self) -> &'static str {
        match self {
            Self::L => "L",
            Self::M => "M",
            Self::R => "R",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::L => "left",
            Self::M => "midline",
            Self::R => "right",
        }
    }

    /// The side to compare with; the midline has none.
    pub fn other(self) -> Option<Self> {
        match self {
            Self::L => Some(Self::R),
            Self::M => None,
            Self::R => Some(Self::L),
        }
    }
}

/// One of the four limbs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Limb {
    LF,
    RF,
    LH,
    RH,
}

impl Limb {
    pub const ALL: [Self; 4] = [Self::LF, Self::RF, Self::LH, Self::RH];

    pub fn code(self) -> &'static str {
        match self {
            Self::LF => "LF",
            Self::RF => "RF",
            Self::LH => "LH",
            Self::RH => "RH",
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::LF => "left fore",
            Self::RF => "right fore",
            Self::LH => "left hind",
            Self::RH => "right hind",
        }
    }

    pub fn side(self) -> Side {
        match self {
            Self::LF | Self::LH => Side::L,
            Self::RF | Self::RH => Side::R,
        }
    }

    pub fn is_fore(self) -> bool {
        matches!(self, Self::LF | Self::RF)
    }

    /// The limb to compare with.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::LF => Self::RF,
            Self::RF => Self::LF,
            Self::LH => Self::RH,
            Self::RH => Self::LH,
        }
    }

    pub(super) fn of(fore: bool, side: Side) -> Option<Self> {
        match (fore, side) {
            (true, Side::L) => Some(Self::LF),
            (true, Side::R) => Some(Self::RF),
            (false, Side::L) => Some(Self::LH),
            (false, Side::R) => Some(Self::RH),
            (_, Side::M) => None,
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl fmt::Display for Limb {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Side {
    type Err = PlaceError;

    fn from_str(text: &str) -> Result<Self, PlaceError> {
        [Self::L, Self::M, Self::R]
            .into_iter()
            .find(|side| side.code() == text)
            .ok_or_else(|| PlaceError::Side(text.to_owned()))
    }
}

impl FromStr for Limb {
    type Err = PlaceError;

    fn from_str(text: &str) -> Result<Self, PlaceError> {
        Self::ALL
            .into_iter()
            .find(|limb| limb.code() == text)
            .ok_or_else(|| PlaceError::Limb(text.to_owned()))
    }
}
