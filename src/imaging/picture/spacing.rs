//! What the distance between two pixels means (PS3.3 10.7.1). On a radiograph the answer differs by the magnification
//! of whatever lies away from the detector, so a length without it misleads.

use dicom_core::Tag;
use dicom_dictionary_std::tags;
use dicom_object::{InMemDicomObject, mem::InMemElement};

use super::attributes::{number, numbers, text, whole};

/// Projections onto a detector; in the others the plane of the picture lies in the horse.
const PROJECTIONS: [&str; 6] = ["CR", "DX", "RF", "XA", "RG", "IO"];

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// Millimetres from one row to the next, and from one column to the next.
    pub rows_mm: f64,
    pub columns_mm: f64,
    pub scale: Scale,
}

/// Where the lengths are true.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Calibrated with an object of known size in the picture.
    Fiducial,
    /// Calibrated by the distances of tube, object and detector.
    Geometry,
    /// Divided by the magnification that the machine has estimated.
    Magnification,
    /// In the plane of the picture, which lies in the body.
    Plane,
    /// At the detector; everything in front of it is shorter.
    Detector,
    /// The file does not say.
    Unstated,
}

impl Scale {
    /// Whether lengths by it are those of the horse.
    pub fn is_true(self) -> bool {
        !matches!(self, Scale::Detector | Scale::Unstated)
    }

    /// As it stands beside a length.
    pub fn words(self) -> &'static str {
        match self {
            Scale::Fiducial => "calibrated with an object of known size",
            Scale::Geometry => "corrected by the distances of tube and detector",
            Scale::Magnification => "corrected by the magnification that the machine has estimated",
            Scale::Plane => "true in the plane of the picture",
            Scale::Detector => "uncorrected, at the detector: the horse is shorter",
            Scale::Unstated => "the file does not say where this is true",
        }
    }
}

pub(super) fn spacing(set: &InMemDicomObject) -> Option<Spacing> {
    let spaced = pair(set, tags::PIXEL_SPACING);
    let detector = pair(set, tags::IMAGER_PIXEL_SPACING);
    let with = |(rows_mm, columns_mm), scale| Spacing { rows_mm, columns_mm, scale };
    let calibrated = match text(set, tags::PIXEL_SPACING_CALIBRATION_TYPE).as_deref() {
        Some("FIDUCIAL") => Some(Scale::Fiducial),
        Some("GEOMETRY") => Some(Scale::Geometry),
        _ => None,
    };
    if let (Some(spaced), Some(scale)) = (spaced, calibrated) {
        return Some(with(spaced, scale));
    }
    if let Some((rows_mm, columns_mm)) = scanned(set) {
        return Some(with((rows_mm, columns_mm), Scale::Plane));
    }
    let modality = text(set, tags::MODALITY).unwrap_or_default();
    let projected = detector.is_some() || PROJECTIONS.contains(&modality.as_str());
    if !projected {
        return spaced.map(|spaced| with(spaced, Scale::Plane));
    }
    // Two that are equal say that nothing was corrected; two that differ, that something was and nobody says how.
    if let Some(spaced) = spaced.filter(|spaced| Some(*spaced) != detector) {
        return Some(with(spaced, Scale::Unstated));
    }
    let (rows_mm, columns_mm) = detector?;
    let magnified =
        number(set, tags::ESTIMATED_RADIOGRAPHIC_MAGNIFICATION_FACTOR).filter(|factor| *factor >= 1.0);
    Some(match magnified {
        Some(factor) => with((rows_mm / factor, columns_mm / factor), Scale::Magnification),
        None => with((rows_mm, columns_mm), Scale::Detector),
    })
}

/// What an ultrasound machine says of the parts of its picture (PS3.3 C.8.5.5): the parts that show tissue, where they
/// agree. Lengths there are in centimetres, x across and y down.
fn scanned(set: &InMemDicomObject) -> Option<(f64, f64)> {
    const TISSUE: i64 = 1;
    const CENTIMETRES: i64 = 3;
    const MM: f64 = 10.0;
    let regions = set.get(tags::SEQUENCE_OF_ULTRASOUND_REGIONS).and_then(InMemElement::items)?;
    let is = |region: &InMemDicomObject, tag, kind: i64| whole::<i64>(region, tag) == Some(kind);
    let tissue = regions.iter().filter(|region| {
        is(region, tags::REGION_SPATIAL_FORMAT, TISSUE)
            && is(region, tags::PHYSICAL_UNITS_X_DIRECTION, CENTIMETRES)
            && is(region, tags::PHYSICAL_UNITS_Y_DIRECTION, CENTIMETRES)
    });
    let step =
        |region: &InMemDicomObject, tag| number(region, tag).map(|cm| cm.abs() * MM).filter(|mm| *mm > 0.0);
    let steps = tissue
        .map(|region| Some((step(region, tags::PHYSICAL_DELTA_Y)?, step(region, tags::PHYSICAL_DELTA_X)?)));
    let mut steps = steps.collect::<Option<Vec<_>>>()?;
    steps.dedup();
    match steps[..] {
        [only] => Some(only),
        _ => None,
    }
}

fn pair(set: &InMemDicomObject, tag: Tag) -> Option<(f64, f64)> {
    let values = numbers(set, tag)?;
    let [rows, columns] = *values.as_array()?;
    (rows > 0.0 && columns > 0.0).then_some((rows, columns))
}
