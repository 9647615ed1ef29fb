//! What follows from a radiographic projection: its words, what it shows in profile, and how the imaging standard
//! codes it. Reading a code and asking whether it is one of a part of the body are [`Projection`]'s own.

pub use crate::catalogue::projection::{Direction, Part, Projection, ProjectionError};
use crate::catalogue::{
    catalogue,
    diagnostics::{Profile, ViewCode},
    projection::{Half, View},
};

/// A value representation CS of the standard holds no more letters.
const TERM_LETTERS: usize = 16;

/// A projection in the words of the imaging standard.
#[derive(Clone, Debug)]
pub struct DicomView {
    /// For the View Code Sequence; none where context group 7484 has no such view. It knows no flexed limb.
    pub code: Option<&'static ViewCode>,
    /// For View Position (0018,5101): the term that the standard prints, and without a row one built as it builds them.
    pub position: String,
}

/// For people: "lateromedial", "flexed lateromedial", "dorsal 60° proximal to palmarodistal, oblique".
pub fn words(projection: &Projection) -> String {
    let flexed = if projection.is_flexed() { "flexed " } else { "" };
    let beam = match projection.view() {
        View::Along(from @ (Direction::Left | Direction::Right), to) => {
            format!("{} to {} lateral", from.word(), to.word())
        }
        View::Along(from, to) => format!("{}{}", from.combining(), to.word()),
        View::Oblique(entry, exit) => format!("{} to {}, oblique", end_words(entry), end_words(exit)),
    };
    format!("{flexed}{beam}")
}

/// "dorsal 60° proximal", "palmarodistal", "right dorsal".
fn end_words(half: &Half) -> String {
    let swung = half.towards.iter().any(|(degrees, _)| degrees.is_some());
    let of_sides = half.directions().any(|one| matches!(one, Direction::Left | Direction::Right));
    if swung || of_sides {
        let towards = half.towards.iter().map(|(degrees, direction)| match degrees {
            Some(degrees) => format!("{degrees}° {}", direction.word()),
            None => direction.word().to_owned(),
        });
        return std::iter::once(half.from.word().to_owned()).chain(towards).collect::<Vec<_>>().join(" ");
    }
    let directions: Vec<Direction> = half.directions().collect();
    let Some((last, before)) = directions.split_last() else { return String::new() };
    before.iter().map(|direction| direction.combining()).chain([last.word()]).collect()
}

/// What the projection shows in profile, on either pair of limbs.
pub fn profile(projection: &Projection) -> Option<&'static Profile> {
    let code = projection.fore().view_code();
    catalogue().diagnostics.profiles.iter().find(|row| row.code == code || row.same_as.contains(&code))
}

/// What the projection shows in profile in this study, in a few words: what is said of that part of the limb, or
/// else the margins.
pub fn profiled(projection: &Projection, study: &str) -> Option<&'static str> {
    let row = profile(projection)?;
    Some(row.at.get(study).unwrap_or(&row.margins))
}

/// How the standard codes the view.
///
/// `D45L-PaMO` gets the code that means 45 degrees, with the term that the standard misprints for it (`D40L_PAMO`).
/// A term that would be too long is built without its angles.
pub fn dicom_view(projection: &Projection) -> DicomView {
    let written = projection.view_code();
    let code = catalogue().diagnostics.views.get(&written);
    let position = code.map_or_else(|| built_term(&written), |row| row.position.clone());
    DicomView { code, position }
}

fn built_term(written: &str) -> String {
    let term = written.to_uppercase().replace('-', "_");
    if term.len() <= TERM_LETTERS {
        return term;
    }
    term.chars().filter(|letter| !letter.is_ascii_digit()).collect()
}
