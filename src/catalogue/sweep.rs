//! The sweep: one gesture that records "no abnormality from here down".
//!
//! A sweep covers one section at most, and of it only the rows that the data marks `sweep = true`: what hands
//! feel. It never stands for a pulse, hoof testers, a measurement, the shoe or anything seen in motion.

use std::{fmt, str::FromStr};

use super::{Group, Limb, Place, PlaceError, places};

/// What one sweep may cover: the axial series, one limb down to the coronet, or one foot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Section {
    Axial,
    Limb(Limb),
    Foot(Limb),
}

impl Section {
    /// The section a place belongs to.
    pub fn of(place: Place) -> Self {
        match (place.region().group, place.limb()) {
            (Group::Foot, Some(limb)) => Self::Foot(limb),
            (_, Some(limb)) => Self::Limb(limb),
            (_, None) => Self::Axial,
        }
    }

    /// Every place of the section, swept or not, in `seq` order.
    pub fn places(self) -> Vec<Place> {
        match self {
            Self::Axial => places(Group::Axial, None),
            Self::Limb(limb) if limb.is_fore() => places(Group::Fore, Some(limb)),
            Self::Limb(limb) => places(Group::Hind, Some(limb)),
            Self::Foot(limb) => places(Group::Foot, Some(limb)),
        }
    }
}

/// The key: `axial`, `LF`, `LF.foot`.
impl fmt::Display for Section {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Axial => f.write_str("axial"),
            Self::Limb(limb) => write!(f, "{limb}"),
            Self::Foot(limb) => write!(f, "{limb}.foot"),
        }
    }
}

impl FromStr for Section {
    type Err = PlaceError;

    fn from_str(key: &str) -> Result<Self, PlaceError> {
        if key == "axial" {
            return Ok(Self::Axial);
        }
        match key.strip_suffix(".foot") {
            Some(limb) => Ok(Self::Foot(limb.parse()?)),
            None => Ok(Self::Limb(key.parse()?)),
        }
    }
}

/// What a sweep of the whole section covers, and nothing else.
pub fn sweep_places(section: Section) -> Vec<Place> {
    section.places().into_iter().filter(|place| place.region().sweep).collect()
}

/// What "no abnormality from here down" covers: the swept rows of the section from `start` on.
pub fn sweep_from(start: Place) -> Vec<Place> {
    let from = start.region().seq;
    sweep_places(Section::of(start)).into_iter().filter(|place| place.region().seq >= from).collect()
}
