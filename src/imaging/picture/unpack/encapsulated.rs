//! Which fragments make a packed frame (PS3.5 A.4).

use std::borrow::Cow;

use dicom_core::value::PixelFragmentSequence;

use crate::imaging::picture::Unshown;

/// Bytes in front of each fragment: its tag and its length. Offsets count them.
const ITEM_HEAD: usize = 8;
/// The first bytes of every JPEG and of every JPEG 2000 codestream.
const STARTS: [[u8; 2]; 2] = [[0xFF, 0xD8], [0xFF, 0x4F]];

/// The bytes of the frame of this index.
///
/// # Errors
/// There are more or fewer fragments than frames, and nothing says which belong together.
pub(super) fn frame(
    sequence: &PixelFragmentSequence<Vec<u8>>,
    frames: u32,
    index: u32,
) -> Result<Cow<'_, [u8]>, Unshown> {
    let fragments = sequence.fragments();
    let (count, index, lost) = (frames as usize, index as usize, Unshown::FrameLost(index + 1));
    if count == fragments.len() {
        return fragments.get(index).map(|fragment| Cow::Borrowed(fragment.as_slice())).ok_or(lost);
    }
    let starts = if count == 1 {
        vec![0]
    } else if sequence.offset_table().len() == count {
        by_offsets(fragments, sequence.offset_table())
    } else {
        by_first_bytes(fragments)
    };
    if starts.len() != count || fragments.is_empty() {
        return Err(lost);
    }
    let end = starts.get(index + 1).copied().unwrap_or(fragments.len());
    let own = starts.get(index).and_then(|start| fragments.get(*start..end)).ok_or(lost)?;
    Ok(Cow::Owned(own.concat()))
}

/// The fragments that begin where the offset table says.
fn by_offsets(fragments: &[Vec<u8>], offsets: &[u32]) -> Vec<usize> {
    let mut at = 0;
    let mut starts = Vec::with_capacity(offsets.len());
    for (number, fragment) in fragments.iter().enumerate() {
        if offsets.contains(&u32::try_from(at).unwrap_or(u32::MAX)) {
            starts.push(number);
        }
        at += fragment.len() + ITEM_HEAD;
    }
    starts
}

fn by_first_bytes(fragments: &[Vec<u8>]) -> Vec<usize> {
    let begins = |fragment: &[u8]| STARTS.iter().any(|start| fragment.starts_with(start));
    (0..fragments.len()).filter(|number| fragments.get(*number).is_some_and(|f| begins(f))).collect()
}
