//! A look through an object before it is taken into memory. The reader of data sets goes down into nested parts by
//! calling itself, and makes room for whatever length an element claims; so depth, lengths and numbers are bounded here
//! first, token by token.

use std::io::Read;

use dicom_core::{DataElementHeader, Length};
use dicom_dictionary_std::tags;
use dicom_encoding::TransferSyntax;
use dicom_parser::dataset::{DataSetReader, DataToken};

use super::Unshown;

/// Functional groups nest four deep, structured reports perhaps ten.
const DEEPEST: u32 = 32;
/// Elements and items; a cine of a thousand frames with fifty attributes each has a tenth of this.
const MOST_TOKENS: u32 = 1_000_000;
/// Everything in front of the pixels.
const MOST_HEAD: u64 = 64 << 20;

/// Value representations whose length is written in two bytes; all others have four behind two reserved ones.
const SHORT: [&[u8; 2]; 21] = [
    b"AE", b"AS", b"AT", b"CS", b"DA", b"DS", b"DT", b"FD", b"FL", b"IS", b"LO", b"LT", b"PN", b"SH", b"SL",
    b"SS", b"ST", b"TM", b"UI", b"UL", b"US",
];

/// Whether every element of the head (PS3.10 7.1, always explicit little-endian) ends where the head does at the latest.
/// `head` begins behind the preamble and the four letters, and may go on with the data set.
pub(super) fn is_whole(mut head: &[u8]) -> bool {
    while let [2, 0, _, _, first, second, rest @ ..] = head {
        let element = if SHORT.contains(&&[*first, *second]) {
            rest.split_first_chunk().map(|(length, value)| (usize::from(u16::from_le_bytes(*length)), value))
        } else {
            let element = rest.get(2..).and_then(<[u8]>::split_first_chunk);
            element.map(|(length, value)| (u32::from_le_bytes(*length) as usize, value))
        };
        match element.and_then(|(length, value)| value.get(length..)) {
            Some(rest) => head = rest,
            None => return false,
        }
    }
    true
}

/// Goes as far as the reader that comes after it: to the first element of the object itself that stands behind the
/// pixels.
///
/// # Errors
/// The object is damaged, nested too deep, or larger than the `bytes` there are.
pub(super) fn scan(data: impl Read, syntax: &TransferSyntax, bytes: u64) -> Result<(), Unshown> {
    let reader = DataSetReader::new_with_ts(data, syntax).map_err(|_| Unshown::Damaged)?;
    let (mut depth, mut tokens, mut head) = (0_u32, 0_u32, 0_u64);
    let fits = |length: Length| length.get().is_none_or(|length| u64::from(length) <= bytes);
    for token in reader {
        tokens += 1;
        if tokens > MOST_TOKENS {
            return Err(Unshown::TooLarge("more than a million elements"));
        }
        match token.map_err(|_| Unshown::Damaged)? {
            DataToken::ElementHeader(DataElementHeader { tag, .. })
            | DataToken::SequenceStart { tag, .. }
                if depth == 0 && tag > tags::PIXEL_DATA =>
            {
                return Ok(());
            }
            DataToken::ElementHeader(header) => {
                if !fits(header.len) {
                    return Err(Unshown::Damaged);
                }
                if depth > 0 || header.tag != tags::PIXEL_DATA {
                    head = head.saturating_add(header.len.get().map_or(0, u64::from));
                }
            }
            DataToken::ItemStart { len } if !fits(len) => return Err(Unshown::Damaged),
            DataToken::SequenceStart { .. } | DataToken::PixelSequenceStart => depth += 1,
            DataToken::SequenceEnd => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEEPEST {
            return Err(Unshown::TooDeep);
        }
        if head > MOST_HEAD {
            return Err(Unshown::TooLarge("more than 64 MiB beside its pixels"));
        }
    }
    if depth > 0 { Err(Unshown::Damaged) } else { Ok(()) }
}
