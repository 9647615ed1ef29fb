//! Pictures whose values are places in a table of colours (PS3.3 C.7.6.3.1.5, C.7.9.2).

use dicom_core::Tag;
use dicom_dictionary_std::tags;
use dicom_object::InMemDicomObject;

use super::{
    Object, Raster, Unshown,
    lookup::{Lookup, descriptor_of},
    unpack::{Samples, value_of},
};

/// Descriptor, plain table and table in segments, by colour.
const COLOURS: [[Tag; 3]; 3] = [
    [
        tags::RED_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR,
        tags::RED_PALETTE_COLOR_LOOKUP_TABLE_DATA,
        tags::SEGMENTED_RED_PALETTE_COLOR_LOOKUP_TABLE_DATA,
    ],
    [
        tags::GREEN_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR,
        tags::GREEN_PALETTE_COLOR_LOOKUP_TABLE_DATA,
        tags::SEGMENTED_GREEN_PALETTE_COLOR_LOOKUP_TABLE_DATA,
    ],
    [
        tags::BLUE_PALETTE_COLOR_LOOKUP_TABLE_DESCRIPTOR,
        tags::BLUE_PALETTE_COLOR_LOOKUP_TABLE_DATA,
        tags::SEGMENTED_BLUE_PALETTE_COLOR_LOOKUP_TABLE_DATA,
    ],
];
/// What a segment begins with: entries one by one, or a straight line to an end. Copies of other segments are refused.
const DISCRETE: u16 = 0;
const LINEAR: u16 = 1;

pub(super) fn render(object: &Object, samples: &Samples) -> Result<Raster, Unshown> {
    let table = |tags| table(object.set(), tags, samples.signed).ok_or(Unshown::Attribute("palette"));
    let [red, green, blue] = [table(COLOURS[0])?, table(COLOURS[1])?, table(COLOURS[2])?];
    let patterns = 0..1_i32 << samples.bits;
    let value = |pattern| value_of(pattern, samples.bits, samples.signed);
    let colour = |pattern| [&red, &green, &blue].map(|table| byte(table, value(pattern)));
    let colours: Vec<[u8; 3]> = patterns.map(colour).collect();
    let pixels = samples.values.iter().filter_map(|value| colours.get(usize::from(*value)));
    Raster::colour(object.shape(), pixels.flatten().copied().collect())
}

/// The upper eight bits of an entry.
fn byte(table: &Lookup, value: i32) -> u8 {
    let entry = table.entry(value);
    let [high, low] = entry.to_be_bytes();
    if table.bits > 8 { high } else { low }
}

fn table(set: &InMemDicomObject, [descriptor, plain, segmented]: [Tag; 3], signed: bool) -> Option<Lookup> {
    Lookup::read(set, descriptor, plain, signed).or_else(|| segments(set, descriptor, segmented, signed))
}

fn segments(set: &InMemDicomObject, descriptor: Tag, data: Tag, signed: bool) -> Option<Lookup> {
    let (count, first, bits) = descriptor_of(set, descriptor, signed)?;
    let bytes = set.get(data)?.to_bytes().ok()?;
    let words: Vec<u16> = if bits > 8 {
        bytes.as_chunks::<2>().0.iter().map(|word| u16::from_le_bytes(*word)).collect()
    } else {
        bytes.iter().map(|byte| u16::from(*byte)).collect()
    };
    let mut entries: Vec<u16> = Vec::with_capacity(count);
    let mut left = words.as_slice();
    while entries.len() < count {
        let [kind, length, rest @ ..] = left else { return None };
        let length = usize::from(*length);
        left = match *kind {
            DISCRETE => {
                let (values, rest) = rest.split_at_checked(length)?;
                entries.extend(values);
                rest
            }
            LINEAR => {
                let ([end], rest) = rest.split_first_chunk()?;
                line(&mut entries, *end, length)?;
                rest
            }
            _ => return None,
        };
    }
    entries.truncate(count);
    Some(Lookup { first, entries, bits })
}

/// So many steps from the last entry to the end.
fn line(entries: &mut Vec<u16>, end: u16, steps: usize) -> Option<()> {
    let start = i64::from(*entries.last()?);
    let (rise, count) = (i64::from(end) - start, i64::try_from(steps).ok()?);
    for step in 1..=count {
        entries.push(u16::try_from(start + (rise * step + (count / 2) * rise.signum()) / count).ok()?);
    }
    Some(())
}
