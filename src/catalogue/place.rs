//! Places: a region on a side, which is what every finding hangs on.
//!
//! A place is valid by construction: [`Place::new`] and parsing refuse a side or limb the region does not
//! have. Its key (`FETL_D.L`, `POLL.M`, `FT_SOLE.LF`) is stable and is what the store and scripts keep.

use std::{
    fmt,
    hash::{Hash, Hasher},
    str::FromStr,
};

use serde::{Deserialize, Serialize};

use super::{Group, Limb, Region, Side, Sides, catalogue};

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlaceError {
    #[error("`{0}` is not a side: use L, R or M")]
    Side(String),
    #[error("`{0}` is not a limb: use LF, RF, LH or RH")]
    Limb(String),
    #[error("`{0}` is not a place: a place is a region, a dot and a side, such as FETL_D.L")]
    Key(String),
    #[error("there is no region `{0}`")]
    Region(String),
    #[error("{region} is not recorded on that side or limb ({at})")]
    NotThere { region: &'static str, at: String },
}

/// A region on a side of the horse and, away from the axis, on a limb.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    region: &'static Region,
    side: Side,
    limb: Option<Limb>,
}

impl Place {
    /// A place by its parts, as scripts give them. The limb may be left out where region and side tell it.
    pub fn new(region: &str, side: Side, limb: Option<Limb>) -> Result<Self, PlaceError> {
        let region = catalogue().region(region).ok_or_else(|| PlaceError::Region(region.to_owned()))?;
        let not_there = || PlaceError::NotThere {
            region: &region.code,
            at: limb.map_or(side.code(), Limb::code).to_owned(),
        };
        let expected = match region.group {
            Group::Axial => None,
            Group::Fore => Limb::of(true, side),
            Group::Hind => Limb::of(false, side),
            Group::Foot => Some(limb.ok_or_else(not_there)?),
        };
        let side_fits = region.sides.each().contains(&side);
        let limb_fits = limb.is_none() || limb == expected;
        let together = expected.is_none_or(|limb| limb.side() == side);
        if side_fits && limb_fits && together {
            Ok(Self { region, side, limb: expected })
        } else {
            Err(not_there())
        }
    }

    /// A place on a limb.
    pub fn on(region: &str, limb: Limb) -> Result<Self, PlaceError> {
        Self::new(region, limb.side(), Some(limb))
    }

    pub fn region(self) -> &'static Region {
        self.region
    }

    pub fn side(self) -> Side {
        self.side
    }

    /// None on the axis.
    pub fn limb(self) -> Option<Limb> {
        self.limb
    }

    /// The stable key: `FETL_D.L`, and with the limb for a foot: `FT_SOLE.LF`.
    pub fn key(self) -> String {
        format!("{}.{}", self.region.code, self.at())
    }

    /// The place to compare with; a midline place has none.
    pub fn other(self) -> Option<Self> {
        let side = self.side.other()?;
        Some(Self { side, limb: self.limb.map(Limb::other), ..self })
    }

    fn at(self) -> &'static str {
        match (self.region.group, self.limb) {
            (Group::Foot, Some(limb)) => limb.code(),
            _ => self.side.code(),
        }
    }

    fn id(self) -> (u16, &'static str, Side, Option<Limb>) {
        (self.region.seq, &self.region.code, self.side, self.limb)
    }
}

/// Every place of a group: the axial ones, or those on `limb` for the other groups. In `seq` order.
pub fn places(group: Group, limb: Option<Limb>) -> Vec<Place> {
    let rows = catalogue().regions.iter().filter(|region| region.group == group);
    rows.flat_map(|region| places_of(region, limb)).collect()
}

fn places_of(region: &'static Region, limb: Option<Limb>) -> Vec<Place> {
    match limb {
        None if region.group == Group::Axial => {
            region.sides.each().iter().map(|&side| Place { region, side, limb: None }).collect()
        }
        Some(limb) if region.is_on(limb) => {
            vec![Place { region, side: limb.side(), limb: Some(limb) }]
        }
        _ => Vec::new(),
    }
}

impl FromStr for Place {
    type Err = PlaceError;

    fn from_str(key: &str) -> Result<Self, PlaceError> {
        let (region, at) = key.split_once('.').ok_or_else(|| PlaceError::Key(key.to_owned()))?;
        let is_foot = catalogue().region(region).is_some_and(|region| region.group == Group::Foot);
        if is_foot { Self::on(region, at.parse()?) } else { Self::new(region, at.parse()?, None) }
    }
}

/// The words: "left fore fetlock, dorsal", "right point of hip (tuber coxae)", "poll, occiput to C2, midline".
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = &self.region.name;
        match (self.limb, self.region.sides) {
            (Some(limb), _) if self.region.group == Group::Foot => write!(f, "{} foot, {name}", limb.name()),
            (Some(limb), _) => write!(f, "{} {name}", limb.name()),
            (None, Sides::M) => f.write_str(name),
            (None, _) if self.side == Side::M => write!(f, "{name}, midline"),
            (None, _) => write!(f, "{} {name}", self.side.name()),
        }
    }
}

impl PartialEq for Place {
    fn eq(&self, other: &Self) -> bool {
        self.id() == other.id()
    }
}

impl Eq for Place {}

impl Hash for Place {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.id().hash(state);
    }
}

/// Places sort as hands go: by `seq`, then left, midline, right, fore before hind.
impl Ord for Place {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.id().cmp(&other.id())
    }
}

impl PartialOrd for Place {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Serialize for Place {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.key())
    }
}

impl<'de> Deserialize<'de> for Place {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}
