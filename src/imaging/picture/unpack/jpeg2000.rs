//! JPEG 2000, with and without loss.

use hayro_jpeg2000::{ComponentData, DecodeSettings, DecoderContext, Image};

use super::{Samples, is_ybr, markers};
use crate::imaging::picture::{Unshown, shape::Shape};

const NAME: &str = "JPEG 2000";
/// The codestream begins with these two markers, alone or inside a JP2 file.
const START: [u8; 4] = [0xFF, 0x4F, 0xFF, 0x51];
const SIGNED: u8 = 0x80;
/// A tile's number has 16 bits.
const MOST_TILES: u32 = 65_535;

/// How many bits there are is the codestream's word, and whether they are signed the object's: where the two differ,
/// this is how the values were meant. Colours are the object's word too, so a JP2 file around the codestream is passed.
///
/// # Errors
/// The frame is damaged, or has another size than the object says.
pub(super) fn frame(shape: &Shape, data: &[u8]) -> Result<Samples, Unshown> {
    let start = data.windows(START.len()).position(|window| window == START).ok_or(Unshown::Codec(NAME))?;
    let data = data.get(start..).unwrap_or_default();
    let head = Head::read(data).ok_or(Unshown::Codec(NAME))?;
    if (head.columns, head.rows) != (u32::from(shape.columns), u32::from(shape.rows))
        || head.components != shape.samples
    {
        return Err(Unshown::Mismatch(NAME));
    }
    if !(1..=16).contains(&head.bits) {
        return Err(Unshown::Depth(head.bits));
    }
    if !markers::are_sound(data) {
        return Err(Unshown::Codec(NAME));
    }
    let settings = DecodeSettings { resolve_palette_indices: false, strict: true, target_resolution: None };
    let image = Image::new(data, &settings).map_err(|_| Unshown::Codec(NAME))?;
    let mut context = DecoderContext::default();
    let decoded = image.decode(&mut context).map_err(|_| Unshown::Codec(NAME))?;
    let components: Vec<&[f32]> = decoded.components().iter().map(ComponentData::samples).collect();
    if components.len() != usize::from(shape.samples) || components.iter().any(|c| c.len() != shape.pixels())
    {
        return Err(Unshown::Mismatch(NAME));
    }
    let mut values = vec![0; shape.values()];
    for (number, component) in components.iter().enumerate() {
        let places = values.iter_mut().skip(number).step_by(components.len());
        places.zip(*component).for_each(|(place, sample)| *place = head.value(*sample));
    }
    Ok(Samples { values, bits: head.bits, signed: shape.signed, ybr: is_ybr(shape.photometric) })
}

/// What the codestream's first marker says (ITU T.800 A.5.1).
struct Head {
    columns: u32,
    rows: u32,
    components: u16,
    bits: u16,
    signed: bool,
}

impl Head {
    fn read(data: &[u8]) -> Option<Self> {
        let size = data.get(START.len() + 4..)?;
        let number = |at: usize| Some(u32::from_be_bytes(*size.get(at..at + 4)?.as_array()?));
        let components = u16::from_be_bytes(*size.get(32..34)?.as_array()?);
        let each = size.get(34..34 + 3 * usize::from(components))?.as_chunks::<3>().0;
        let [depth, ..] = *each.first()?;
        // Halved colours would be spread and converted by the decoder, and not be told from others.
        if each.iter().any(|component| *component != [depth, 1, 1]) {
            return None;
        }
        let tiles = |length: u32, tile: u32| Some(length.div_ceil((tile != 0).then_some(tile)?));
        if tiles(number(0)?, number(16)?)?.checked_mul(tiles(number(4)?, number(20)?)?)? > MOST_TILES {
            return None;
        }
        Some(Head {
            columns: number(0)?.checked_sub(number(8)?)?,
            rows: number(4)?.checked_sub(number(12)?)?,
            components,
            bits: u16::from(depth & !SIGNED) + 1,
            signed: depth & SIGNED != 0,
        })
    }

    /// The bits of a sample. The decoder lifts signed samples into the positive; that is taken back.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "bounded by the bits there are"
    )]
    fn value(&self, sample: f32) -> u16 {
        let largest = u16::MAX >> (16 - self.bits);
        let lifted = (sample + 0.5).floor().clamp(0.0, f32::from(largest)) as u16;
        if self.signed { lifted ^ (1 << (self.bits - 1)) } else { lifted }
    }
}
