//! A look through the markers of a JPEG 2000 codestream (ITU T.800 annex A). A picture may be divided into precincts
//! down to a single value, and the decoder makes room for each: a hundred bytes could ask for ten gibibytes.

/// Sides of a precinct, as powers of two. Writers go down to 32 or 16.
const SMALLEST: u8 = 4;

const CODING_STYLE: u16 = 0xFF52;
const CODING_STYLE_OF_COMPONENT: u16 = 0xFF53;
const START_OF_TILE_PART: u16 = 0xFF90;
const START_OF_DATA: u16 = 0xFF93;
const END: u16 = 0xFFD9;

/// Whether the whole codestream can be followed from marker to marker, and all its precincts are large enough.
pub(super) fn are_sound(data: &[u8]) -> bool {
    follow(data).unwrap_or(false)
}

fn follow(data: &[u8]) -> Option<bool> {
    // Behind the start of the codestream; `None` where the data end too early.
    let (mut at, mut end_of_part) = (2, data.len());
    while at < data.len() {
        let marker = word(data, at)?;
        match marker {
            END => return Some(true),
            START_OF_DATA => {
                at = end_of_part;
                continue;
            }
            START_OF_TILE_PART => {
                let length = u32::from_be_bytes(*data.get(at + 6..at + 10)?.as_array()?) as usize;
                // Nothing as a length is what the last part may have.
                end_of_part = if length == 0 { data.len() } else { at.checked_add(length.max(14))? };
            }
            _ => {}
        }
        let length = usize::from(word(data, at + 2)?);
        let segment = data.get(at + 4..at + 2 + length)?;
        // Style, then the order of packets or the component's number, then five bytes that lead up to the precincts.
        let precincts = match marker {
            CODING_STYLE => precincts(*segment.first()?, segment, 10),
            CODING_STYLE_OF_COMPONENT => precincts(*segment.get(1)?, segment, 7),
            _ => None,
        };
        let small = |sides: &u8| sides & 0x0F < SMALLEST || sides >> 4 < SMALLEST;
        if precincts.is_some_and(|precincts| precincts.iter().any(small)) {
            return Some(false);
        }
        at += 2 + length;
    }
    Some(true)
}

/// The sides of the precincts, a byte a resolution, where a coding style brings its own.
fn precincts(style: u8, segment: &[u8], from: usize) -> Option<&[u8]> {
    if style & 1 == 1 { segment.get(from..) } else { None }
}

fn word(data: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(*data.get(at..at + 2)?.as_array()?))
}
