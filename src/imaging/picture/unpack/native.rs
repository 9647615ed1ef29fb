//! Pixels that are not packed: one frame after the other, value after value.

use std::{borrow::Cow, ops::Range};

use dicom_core::value::PrimitiveValue;

use super::{Samples, is_ybr};
use crate::imaging::picture::{
    Unshown,
    shape::{Photometric, Shape},
};

/// # Errors
/// There are fewer pixels than the object says.
pub(super) fn frame(shape: &Shape, value: &PrimitiveValue, index: u32) -> Result<Samples, Unshown> {
    let (index, total) = (index as usize, value.calculate_byte_len());
    let values = if shape.allocated == 1 {
        bits(value, shape.values(), index).ok_or(Unshown::Damaged)?
    } else {
        let full = shape.values() * usize::from(shape.allocated / 8);
        // Some programs say that colour is halved and write it whole.
        let halved = shape.photometric == Photometric::Ybr422 && total < full * shape.frames as usize;
        let length = if halved { shape.pixels() * 2 } else { full };
        let bytes = slice(value, index * length..(index + 1) * length).ok_or(Unshown::Damaged)?;
        let values = stored(shape, &bytes);
        if halved {
            doubled(shape, &values)?
        } else if shape.planar && shape.samples == 3 {
            interleaved(&values)
        } else {
            values
        }
    };
    Ok(Samples { values, bits: shape.stored, signed: shape.signed, ybr: is_ybr(shape.photometric) })
}

/// The bits that count, out of little-endian bytes. The rest may hold an overlay.
pub(super) fn stored(shape: &Shape, bytes: &[u8]) -> Vec<u16> {
    let shift = shape.high + 1 - shape.stored;
    let mask = u16::MAX >> (16 - shape.stored);
    if shape.allocated == 8 {
        bytes.iter().map(|byte| (u16::from(*byte) >> shift) & mask).collect()
    } else {
        let (words, _) = bytes.as_chunks::<2>();
        words.iter().map(|word| (u16::from_le_bytes(*word) >> shift) & mask).collect()
    }
}

/// A part of the pixels as little-endian bytes; only this part is copied, where a copy is needed.
fn slice(value: &PrimitiveValue, range: Range<usize>) -> Option<Cow<'_, [u8]>> {
    match value {
        PrimitiveValue::U8(bytes) => bytes.get(range).map(Cow::Borrowed),
        PrimitiveValue::U16(words) => {
            let words = words.get(range.start / 2..range.end.div_ceil(2))?;
            let bytes: Vec<u8> = words.iter().flat_map(|word| word.to_le_bytes()).collect();
            let skipped = range.start % 2;
            Some(Cow::Owned(bytes.get(skipped..skipped + range.len())?.to_vec()))
        }
        _ => None,
    }
}

/// Values of one bit, the lowest of a byte first; frames follow each other without a gap (PS3.5 8.1.1).
fn bits(value: &PrimitiveValue, count: usize, index: usize) -> Option<Vec<u16>> {
    let (from, to) = (index * count, (index + 1) * count);
    let bytes = slice(value, from / 8..to.div_ceil(8))?;
    let bit = |at: usize| bytes.get(at / 8).map(|byte| u16::from(byte >> (at % 8) & 1));
    (from % 8..from % 8 + count).map(bit).collect()
}

fn interleaved(planes: &[u16]) -> Vec<u16> {
    let (red, rest) = planes.split_at(planes.len() / 3);
    let (green, blue) = rest.split_at(red.len());
    red.iter().zip(green).zip(blue).flat_map(|((r, g), b)| [*r, *g, *b]).collect()
}

/// Two luminances and one pair of differences become two pixels.
fn doubled(shape: &Shape, values: &[u16]) -> Result<Vec<u16>, Unshown> {
    if shape.columns % 2 == 1 {
        return Err(Unshown::Attribute("number of columns"));
    }
    let (fours, _) = values.as_chunks::<4>();
    Ok(fours.iter().flat_map(|[one, two, blue, red]| [*one, *blue, *red, *two, *blue, *red]).collect())
}
