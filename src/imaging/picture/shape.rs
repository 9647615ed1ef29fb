//! The measures of an object's pixels, checked and bounded before anything is unpacked.

use dicom_core::{Tag, header::HasLength};
use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use super::{
    Unshown,
    attributes::{text, whole},
};

/// A plate of 43 cm at 0.1 mm has 18 million pixels; what is larger than this is no picture of a horse.
const MOST_PIXELS: u64 = 50_000_000;
/// The bytes of all frames as they are when unpacked.
const MOST_BYTES: u64 = 1 << 30;

/// What the values of a pixel mean (PS3.3 C.7.6.3.1.2).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Photometric {
    /// Low values are white.
    Monochrome1,
    Monochrome2,
    Palette,
    Rgb,
    /// Luminance and two colour differences, each a byte.
    Ybr,
    /// The same, with one pair of differences for two pixels side by side.
    Ybr422,
    /// Made into red, green and blue by whoever unpacks JPEG 2000.
    YbrInside,
}

impl Photometric {
    fn read(set: &InMemDicomObject) -> Result<Self, Unshown> {
        let name =
            text(set, tags::PHOTOMETRIC_INTERPRETATION).ok_or(Unshown::Attribute("kind of colours"))?;
        Ok(match name.as_str() {
            "MONOCHROME1" => Photometric::Monochrome1,
            "MONOCHROME2" => Photometric::Monochrome2,
            "PALETTE COLOR" => Photometric::Palette,
            "RGB" => Photometric::Rgb,
            "YBR_FULL" => Photometric::Ybr,
            "YBR_FULL_422" => Photometric::Ybr422,
            "YBR_ICT" | "YBR_RCT" => Photometric::YbrInside,
            _ => return Err(Unshown::Photometric(name)),
        })
    }

    fn samples(self) -> u16 {
        if matches!(self, Photometric::Monochrome1 | Photometric::Monochrome2 | Photometric::Palette) {
            1
        } else {
            3
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shape {
    pub(super) rows: u16,
    pub(super) columns: u16,
    pub(super) frames: u32,
    /// 1 for grey and palettes, 3 for colour.
    pub(super) samples: u16,
    pub(super) photometric: Photometric,
    /// Bits of a sample's place: 1, 8 or 16.
    pub(super) allocated: u16,
    /// Bits that count, and the highest of them.
    pub(super) stored: u16,
    pub(super) high: u16,
    pub(super) signed: bool,
    /// One colour after the other instead of one pixel after the other.
    pub(super) planar: bool,
}

impl Shape {
    /// # Errors
    /// A measure is missing, makes no sense or is too large.
    pub(super) fn read(set: &InMemDicomObject) -> Result<Self, Unshown> {
        let measure = |tag: Tag, name| {
            whole::<u16>(set, tag).filter(|value| *value > 0).ok_or(Unshown::Attribute(name))
        };
        let photometric = Photometric::read(set)?;
        let allocated = measure(tags::BITS_ALLOCATED, "number of bits")?;
        if !matches!(allocated, 1 | 8 | 16) {
            return Err(Unshown::Depth(allocated));
        }
        let samples = whole(set, tags::SAMPLES_PER_PIXEL).unwrap_or(photometric.samples());
        if samples != photometric.samples() || (samples == 3 && allocated == 1) {
            return Err(Unshown::Attribute("number of samples a pixel"));
        }
        let stored = whole(set, tags::BITS_STORED).unwrap_or(allocated);
        let high = whole(set, tags::HIGH_BIT).unwrap_or(stored.saturating_sub(1));
        if stored == 0 || stored > allocated || high >= allocated || high + 1 < stored {
            return Err(Unshown::Attribute("number of bits"));
        }
        let frames = match set.get(tags::NUMBER_OF_FRAMES) {
            Some(element) if !element.is_empty() => whole(set, tags::NUMBER_OF_FRAMES),
            _ => Some(1),
        };
        let shape = Shape {
            rows: measure(tags::ROWS, "number of rows")?,
            columns: measure(tags::COLUMNS, "number of columns")?,
            frames: frames.filter(|frames| *frames > 0).ok_or(Unshown::Attribute("number of frames"))?,
            samples,
            photometric,
            allocated,
            stored,
            high,
            signed: whole(set, tags::PIXEL_REPRESENTATION) == Some(1_u16),
            planar: whole(set, tags::PLANAR_CONFIGURATION) == Some(1_u16),
        };
        shape.bounded()
    }

    fn bounded(self) -> Result<Self, Unshown> {
        let pixels = u64::from(self.rows) * u64::from(self.columns);
        if pixels > MOST_PIXELS {
            return Err(Unshown::TooLarge("more than 50 million pixels"));
        }
        let frame = pixels * u64::from(self.samples) * u64::from(self.allocated.div_ceil(8));
        if frame.checked_mul(u64::from(self.frames)).is_none_or(|all| all > MOST_BYTES) {
            return Err(Unshown::TooLarge("more than 1 GiB of pixels"));
        }
        Ok(self)
    }

    /// Pixels of a frame.
    pub(super) fn pixels(&self) -> usize {
        usize::from(self.rows) * usize::from(self.columns)
    }

    /// Values of a frame.
    pub(super) fn values(&self) -> usize {
        self.pixels() * usize::from(self.samples)
    }
}
