//! What a file is by its first box, whatever it is called: the `ftyp` box of ISO/IEC 14496-12, 4.3, in which a file
//! names the brands that it keeps to. Videos and the photos of newer telephones both begin with it.

use std::{
    fs::File,
    io::{self, Read},
    path::Path,
};

/// A box of more bytes than these is none that a camera writes.
const LONGEST: usize = 1024;
/// Size, type, major brand, minor version.
const SHORTEST: usize = 16;

/// The brand of MOV (Apple, `QuickTime` File Format).
const QUICKTIME: [&[u8; 4]; 1] = [b"qt  "];
/// Brands of MP4: ISO/IEC 14496-12 (`iso?`), 14496-14 (`mp4?`), 14496-15 (`avc1`), and those of players and telephones.
const MP4: [&[u8; 4]; 16] = [
    b"isom", b"iso2", b"iso3", b"iso4", b"iso5", b"iso6", b"iso7", b"iso8", b"iso9", b"mp41", b"mp42",
    b"avc1", b"M4V ", b"MSNV", b"3gp4", b"3gp5",
];
/// A still picture coded with HEVC, and what belongs to it (ISO/IEC 23008-12, annex B).
const HEIC: [&[u8; 4]; 4] = [b"heic", b"heix", b"heim", b"heis"];
/// A still picture of any coding (ISO/IEC 23008-12, 10).
const HEIF: [&[u8; 4]; 1] = [b"mif1"];

/// The brands that a file names, the major one first; none when it does not begin with such a box.
fn brands(beginning: &[u8]) -> Vec<&[u8]> {
    let [a, b, c, d, b'f', b't', b'y', b'p', ..] = beginning else { return Vec::new() };
    let length = u32::from_be_bytes([*a, *b, *c, *d]) as usize;
    let Some(whole) = beginning.get(..length).filter(|_| (SHORTEST..=LONGEST).contains(&length)) else {
        return Vec::new();
    };
    let (major, others) = (&whole[8..12], &whole[SHORTEST..]);
    std::iter::once(major).chain(others.chunks_exact(4)).collect()
}

fn is_of(brand: &[u8], list: &[&[u8; 4]]) -> bool {
    list.iter().any(|one| one.as_slice() == brand)
}

/// The media type of a video; `None` for what is none of MP4 and MOV.
pub fn video(beginning: &[u8]) -> Option<&'static str> {
    let brands = brands(beginning);
    let major = *brands.first()?;
    // A film may also hold a still picture; what is a still picture first of all is none.
    if is_of(major, &HEIC) || is_of(major, &HEIF) {
        return None;
    }
    if is_of(major, &QUICKTIME) {
        return Some("video/quicktime");
    }
    brands.into_iter().any(|brand| is_of(brand, &MP4)).then_some("video/mp4")
}

/// The media type of a photo in HEIC or HEIF; `None` for anything else.
pub fn photo(beginning: &[u8]) -> Option<&'static str> {
    let brands = brands(beginning);
    let major = *brands.first()?;
    if is_of(major, &HEIC) {
        return Some("image/heic");
    }
    let coded = brands.iter().any(|brand| is_of(brand, &HEIC));
    is_of(major, &HEIF).then_some(if coded { "image/heic" } else { "image/heif" })
}

/// As much of a file as says what it is.
///
/// # Errors
/// The file is not there or cannot be read.
pub fn beginning(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::with_capacity(LONGEST);
    File::open(path)?.take(LONGEST as u64).read_to_end(&mut bytes)?;
    Ok(bytes)
}
