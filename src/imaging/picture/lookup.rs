//! Tables of values inside an object: rescaling, windows and palettes are kept the same way (PS3.3 C.11.1.1, C.7.6.3.1.5).

use dicom_core::Tag;
use dicom_object::InMemDicomObject;

/// A value below the first mapped one gets the first entry, a value above the last one the last.
pub(super) struct Lookup {
    pub(super) first: i32,
    pub(super) entries: Vec<u16>,
    /// How many bits of an entry count.
    pub(super) bits: u16,
}

impl Lookup {
    /// The table under these tags, if it is there and whole. `signed` says whether what is looked up can be negative.
    pub(super) fn read(set: &InMemDicomObject, descriptor: Tag, data: Tag, signed: bool) -> Option<Self> {
        let (count, first, bits) = descriptor_of(set, descriptor, signed)?;
        let bytes = set.get(data)?.to_bytes().ok()?;
        let entries: Vec<u16> = if bytes.len() >= count * 2 {
            bytes.as_chunks::<2>().0.iter().take(count).map(|word| u16::from_le_bytes(*word)).collect()
        } else {
            bytes.iter().take(count).map(|byte| u16::from(*byte)).collect()
        };
        (entries.len() == count).then_some(Lookup { first, entries, bits })
    }

    pub(super) fn entry(&self, value: i32) -> u16 {
        let at = usize::try_from(value.saturating_sub(self.first)).unwrap_or(0);
        self.entries.get(at).or(self.entries.last()).copied().unwrap_or(0)
    }

    /// The largest entry there can be.
    pub(super) fn largest(&self) -> u16 {
        u16::MAX >> (16 - self.bits)
    }
}

/// Number of entries, first value mapped and bits of an entry. A number of 65,536 is written as 0.
pub(super) fn descriptor_of(set: &InMemDicomObject, tag: Tag, signed: bool) -> Option<(usize, i32, u16)> {
    let values: Vec<i32> = set.get(tag)?.to_multi_int().ok()?;
    let [count, first, bits] = *values.as_array()?;
    // Both may come as signed or as unsigned, whichever the writer has picked.
    let (count, first) = (count & 0xFFFF, first & 0xFFFF);
    let count = if count == 0 { 1 << 16 } else { usize::try_from(count).ok()? };
    let first = if signed && first >= 1 << 15 { first - (1 << 16) } else { first };
    let bits = u16::try_from(bits).ok().filter(|bits| (1..=16).contains(bits))?;
    Some((count, first, bits))
}
