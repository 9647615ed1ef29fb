//! The values of one frame, however the machine packed them.

mod encapsulated;
mod jpeg;
mod jpeg2000;
mod markers;
mod native;
mod rle;

use dicom_core::value::Value;
use dicom_dictionary_std::{tags, uids};
use dicom_encoding::TransferSyntaxIndex;
use dicom_transfer_syntax_registry::TransferSyntaxRegistry;

use super::{Object, Unshown, shape::Photometric};

/// What decoders need beside a sample of a packed frame: they hold several copies of it, in wider numbers.
const WORKING_BYTES: usize = 16;
const MOST_WORKING_BYTES: usize = 1 << 30;

/// The values of a frame, pixel after pixel, each with its three colours together.
pub(super) struct Samples {
    /// The stored bits of each value; those of negative ones too, so that a table can be asked by them.
    pub(super) values: Vec<u16>,
    pub(super) bits: u16,
    pub(super) signed: bool,
    /// Whether three values are luminance and colour differences instead of red, green and blue.
    pub(super) ybr: bool,
}

/// # Errors
/// The frame is damaged, or packed in a way that cannot be unpacked here.
pub(super) fn frame(object: &Object, index: u32) -> Result<Samples, Unshown> {
    let shape = object.shape();
    let pixels = object.set().get(tags::PIXEL_DATA).ok_or(Unshown::NoPixels)?;
    let sequence = match pixels.value() {
        Value::Primitive(value) => return native::frame(shape, value, index),
        Value::PixelSequence(sequence) => sequence,
        Value::Sequence(_) => return Err(Unshown::NoPixels),
    };
    if shape.values().saturating_mul(WORKING_BYTES) > MOST_WORKING_BYTES {
        return Err(Unshown::TooLarge("more packed pixels than there is memory for"));
    }
    let syntax = object.file().meta().transfer_syntax();
    let packed = || encapsulated::frame(sequence, shape.frames, index);
    match syntax {
        uids::JPEG_BASELINE8_BIT
        | uids::JPEG_EXTENDED12_BIT
        | uids::JPEG_LOSSLESS
        | uids::JPEG_LOSSLESS_SV1 => jpeg::frame(shape, &packed()?),
        uids::JPEG2000_LOSSLESS | uids::JPEG2000 => jpeg2000::frame(shape, &packed()?),
        uids::RLE_LOSSLESS => rle::frame(object, index),
        _ => {
            let name = TransferSyntaxRegistry.get(syntax).map_or(syntax, |known| known.name());
            Err(Unshown::Packing(name.to_owned()))
        }
    }
}

/// Whether values of this kind are luminance and colour differences when the codec leaves them as they are.
fn is_ybr(photometric: Photometric) -> bool {
    matches!(photometric, Photometric::Ybr | Photometric::Ybr422)
}

/// The number that a pattern of so many bits stands for.
pub(super) fn value_of(pattern: i32, bits: u16, signed: bool) -> i32 {
    if signed && pattern >> (bits - 1) & 1 == 1 { pattern - (1 << bits) } else { pattern }
}
