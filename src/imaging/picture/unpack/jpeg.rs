//! JPEG: baseline and extended with 8 bits, and lossless up to 16.

use jpeg_decoder::{ColorTransform, Decoder};

use super::{Samples, is_ybr};
use crate::imaging::picture::{Unshown, shape::Shape};

const NAME: &str = "JPEG";
/// A progressive picture has about ten scans; thousands would only keep the server busy.
const MOST_SCANS: usize = 64;
const START_OF_SCAN: [u8; 2] = [0xFF, 0xDA];

/// # Errors
/// The frame is damaged, has another size than the object says, or 12 bits that are not lossless.
pub(super) fn frame(shape: &Shape, data: &[u8]) -> Result<Samples, Unshown> {
    let head = Head::read(data).ok_or(Unshown::Codec(NAME))?;
    if (head.rows, head.columns, head.components) != (shape.rows, shape.columns, shape.samples) {
        return Err(Unshown::Mismatch(NAME));
    }
    if !head.lossless && head.precision != 8 {
        return Err(Unshown::Packing(format!("JPEG with {} bits", head.precision)));
    }
    if data.windows(2).filter(|pair| *pair == START_OF_SCAN).count() > MOST_SCANS {
        return Err(Unshown::Codec(NAME));
    }
    let ybr = shape.samples == 3 && head.ybr.unwrap_or(is_ybr(shape.photometric));
    let mut decoder = Decoder::new(data);
    if shape.samples == 3 {
        // The decoder makes colours only where it unpacks with loss, so the lossless ones are left for later.
        decoder.set_color_transform(if ybr { ColorTransform::YCbCr } else { ColorTransform::RGB });
    }
    let bytes = decoder.decode().map_err(|_| Unshown::Codec(NAME))?;
    let values = if bytes.len() == shape.values() {
        bytes.iter().map(|byte| u16::from(*byte)).collect()
    } else if bytes.len() == shape.values() * 2 {
        bytes.as_chunks::<2>().0.iter().map(|word| u16::from_ne_bytes(*word)).collect()
    } else {
        return Err(Unshown::Mismatch(NAME));
    };
    let bits = if head.lossless { head.precision } else { 8 };
    Ok(masked(Samples { values, bits, signed: shape.signed, ybr: ybr && head.lossless }, shape))
}

/// A lossless picture may be packed with more bits than count: what is above them is the sign, drawn out.
fn masked(mut samples: Samples, shape: &Shape) -> Samples {
    if samples.bits > shape.stored {
        let mask = u16::MAX >> (16 - shape.stored);
        samples.values.iter_mut().for_each(|value| *value &= mask);
        samples.bits = shape.stored;
    }
    samples
}

/// What the markers in front of the picture say (ITU T.81 annex B, and the two usual application markers).
struct Head {
    rows: u16,
    columns: u16,
    components: u16,
    precision: u16,
    lossless: bool,
    /// Whether the colours are luminance and differences, where the file says so itself. It is believed before the
    /// object, since many programs relabel objects and never touch the packed picture.
    ybr: Option<bool>,
}

impl Head {
    fn read(data: &[u8]) -> Option<Self> {
        let (mut at, mut jfif, mut adobe) = (2_usize, false, None);
        loop {
            let [0xFF, marker] = *data.get(at..at + 2)?.as_array()? else { return None };
            if marker == 0xFF {
                at += 1;
                continue;
            }
            let length = usize::from(word(data, at + 2)?);
            let segment = data.get(at + 4..at + 2 + length)?;
            match marker {
                0xE0 if segment.starts_with(b"JFIF\0") => jfif = true,
                0xEE if segment.starts_with(b"Adobe") => adobe = segment.get(11).copied(),
                0xC0..=0xC3 => return Self::of_frame(marker, segment, jfif, adobe),
                0xC5..=0xC7 | 0xC9..=0xCB | 0xCD..=0xCF | 0xD9 | 0xDA => return None,
                _ => {}
            }
            at += 2 + length;
        }
    }

    fn of_frame(marker: u8, segment: &[u8], jfif: bool, adobe: Option<u8>) -> Option<Self> {
        let named: Vec<u8> = segment.get(6..)?.chunks(3).filter_map(|part| part.first().copied()).collect();
        let ybr = match adobe {
            Some(transform) => Some(transform == 1),
            None if jfif => Some(true),
            None if named == b"RGB" => Some(false),
            None => None,
        };
        Some(Head {
            precision: u16::from(*segment.first()?),
            rows: word(segment, 1)?,
            columns: word(segment, 3)?,
            components: u16::from(*segment.get(5)?),
            lossless: marker == 0xC3,
            ybr,
        })
    }
}

fn word(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(*bytes.get(at..at + 2)?.as_array()?))
}
