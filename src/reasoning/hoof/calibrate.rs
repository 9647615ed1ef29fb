//! From pixels to millimetres. Angles and ratios need none of it, distances do.

use crate::reasoning::refused::{Refused, positive};

/// What a picture says of the size of its pixels, in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spacing {
    /// Pixel Spacing by a marker of known size in the plane of the bone.
    Fiducial(f64),
    /// Pixel Spacing that is corrected for the set-up.
    Geometry(f64),
    /// Imager Pixel Spacing at the detector, with the estimated magnification where the picture has one.
    Detector { imager_mm: f64, magnification: Option<f64> },
}

/// The size of a pixel in the plane of the bone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pixel {
    pub mm: f64,
    /// Larger than life by what is not known: distances are to be labelled as uncorrected.
    pub is_uncorrected: bool,
}

/// By a marker of known length in the plane of the bone, which is the way to be preferred.
pub fn by_marker(marker_mm: f64, marker_px: f64) -> Result<Pixel, Refused> {
    let mm = positive("marker_mm", marker_mm)? / positive("marker_px", marker_px)?;
    Ok(Pixel { mm, is_uncorrected: false })
}

/// By what the picture's own header says.
pub fn by_header(spacing: Spacing) -> Result<Pixel, Refused> {
    match spacing {
        Spacing::Fiducial(mm) | Spacing::Geometry(mm) => {
            Ok(Pixel { mm: positive("pixel_spacing", mm)?, is_uncorrected: false })
        }
        Spacing::Detector { imager_mm, magnification } => {
            let mm = positive("imager_pixel_spacing", imager_mm)?;
            let by = magnification.map(|by| positive("magnification", by)).transpose()?;
            Ok(Pixel { mm: mm / by.unwrap_or(1.0), is_uncorrected: by.is_none() })
        }
    }
}

/// How much larger than life the picture is, from the distance of source and detector and that of object and
/// detector, both in cm. The true size is the size on the picture over it.
pub fn magnification(source_cm: f64, object_cm: f64) -> Result<f64, Refused> {
    let source = positive("source_cm", source_cm)?;
    let object = object_cm;
    if object >= 0.0 && object < source {
        Ok(source / (source - object))
    } else {
        Err(Refused::new("object_cm", format!("must be between 0 and source_cm, not {object}")))
    }
}
