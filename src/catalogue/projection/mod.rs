//! Radiographic projections: where the beam enters and where it leaves, as a code (`D60Pr-PaDiO`).
//!
//! ```text
//! projection = [ "flexed " ] view
//! view       = entry exit | ("LeRt" | "RtLe") "L" | half "-" half "O"
//! half       = direction [ degrees ] direction [ [ degrees ] direction ]
//! ```
//!
//! The number between two directions is the degrees swung from the first towards the second; it belongs to the half
//! where the beam enters. `R` and `L` are rostral and lateral, unless they face each other (`R20V-LDO`): then they
//! are the right and the left of the trunk, written `Rt` and `Le` as DICOM does. A projection that was read is
//! possible; whether it is one of this part of the body is for [`Projection::suits`]. What follows from a
//! projection (words, what it profiles, its DICOM view) stands in `reasoning::projection`.

mod direction;
mod parse;

use std::fmt::{self, Write};

pub use direction::{Direction, Part};

/// A code that names no projection, or none of that part of the body.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{code}`{} {what}", at.map(|at| format!(" at character {at}:")).unwrap_or_default())]
pub struct ProjectionError {
    /// As it was typed.
    pub code: String,
    /// The character that it fails at, from 1; none where the whole of it is at fault.
    pub at: Option<usize>,
    pub what: String,
}

/// A radiographic projection. Two are equal when they are the same beam on the same stance of the limb.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Projection {
    flexed: bool,
    view: View,
}

/// The beam itself.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) enum View {
    /// Along an axis: `DPa`, `LM`, `LL`, and `LeRtL` between the sides of the horse.
    Along(Direction, Direction),
    Oblique(Half, Half),
}

/// One end of an oblique beam: a direction, and those it is swung towards, each with its degrees.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Half {
    pub(crate) from: Direction,
    pub(crate) towards: Vec<(Option<u8>, Direction)>,
}

impl Half {
    pub(crate) fn directions(&self) -> impl Iterator<Item = Direction> {
        std::iter::once(self.from).chain(self.towards.iter().map(|(_, direction)| *direction))
    }

    fn map(&self, change: impl Fn(Direction) -> Direction) -> Self {
        let towards = self.towards.iter().map(|(degrees, direction)| (*degrees, change(*direction)));
        Self { from: change(self.from), towards: towards.collect() }
    }
}

impl View {
    fn directions(&self) -> Vec<Direction> {
        match self {
            Self::Along(entry, exit) => vec![*entry, *exit],
            Self::Oblique(entry, exit) => entry.directions().chain(exit.directions()).collect(),
        }
    }

    fn map(&self, change: impl Fn(Direction) -> Direction) -> Self {
        match self {
            Self::Along(entry, exit) => Self::Along(change(*entry), change(*exit)),
            Self::Oblique(entry, exit) => Self::Oblique(entry.map(&change), exit.map(&change)),
        }
    }
}

impl Projection {
    /// Reads a code. The error says what is wrong with it, and at which character.
    pub fn parse(text: &str) -> Result<Self, ProjectionError> {
        parse::projection(text)
    }

    /// The one way this projection is written: `flexed LM`, `D60Pr-PaDiO`.
    pub fn code(&self) -> String {
        let flexed = if self.flexed { "flexed " } else { "" };
        format!("{flexed}{}", self.view)
    }

    /// The code of the beam alone, without the stance of the limb.
    pub fn view_code(&self) -> String {
        self.view.to_string()
    }

    pub fn is_flexed(&self) -> bool {
        self.flexed
    }

    pub fn is_oblique(&self) -> bool {
        matches!(self.view, View::Oblique(..))
    }

    pub(crate) fn view(&self) -> &View {
        &self.view
    }

    /// The same on the hindlimb: plantar for palmar.
    #[must_use]
    pub fn hind(&self) -> Self {
        self.with(Direction::Palmar, Direction::Plantar)
    }

    /// The same on the forelimb: palmar for plantar.
    #[must_use]
    pub fn fore(&self) -> Self {
        self.with(Direction::Plantar, Direction::Palmar)
    }

    fn with(&self, old: Direction, new: Direction) -> Self {
        let change = |direction| if direction == old { new } else { direction };
        Self { flexed: self.flexed, view: self.view.map(change) }
    }

    /// Refuses a projection that names a direction which this part of the body does not have: palmar is of the
    /// forelimb only, plantar of the hindlimb only, both from carpus and tarsus down; cranial and caudal are above
    /// them and on the trunk.
    pub fn suits(&self, part: Part) -> Result<(), ProjectionError> {
        // Between the sides of a trunk whose plate side is not said, the code is LL.
        let is_ll = self.view == View::Along(Direction::Lateral, Direction::Lateral);
        let trunk = matches!(part, Part::Trunk | Part::Head);
        let refused = |what: String| Err(ProjectionError { code: self.code(), at: None, what });
        if is_ll {
            return if trunk { Ok(()) } else { refused(format!("is of the trunk, not of {part}")) };
        }
        match self.view.directions().into_iter().find(|direction| !part.has(*direction)) {
            Some(direction) => refused(format!("says {}, which {part} does not have", direction.word())),
            None => Ok(()),
        }
    }
}

impl fmt::Display for Projection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.code())
    }
}

impl fmt::Display for View {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Along(entry, exit) => {
                write!(f, "{}{}", entry.code(), exit.code())?;
                let between_sides = matches!(entry, Direction::Left | Direction::Right);
                if between_sides { f.write_char('L') } else { Ok(()) }
            }
            Self::Oblique(entry, exit) => write!(f, "{entry}-{exit}O"),
        }
    }
}

impl fmt::Display for Half {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.from.code())?;
        for (degrees, direction) in &self.towards {
            if let Some(degrees) = degrees {
                write!(f, "{degrees}")?;
            }
            f.write_str(direction.code())?;
        }
        Ok(())
    }
}
