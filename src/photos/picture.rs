//! What is taken as a picture: what every browser shows, and what telephones write that some do not.

use crate::attachments::boxes;

/// What a file is by its first bytes, whatever it is called.
pub(super) fn kind(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xFF, 0xD8, 0xFF, ..] => Some("image/jpeg"),
        [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => Some("image/png"),
        [b'R', b'I', b'F', b'F', _, _, _, _, b'W', b'E', b'B', b'P', ..] => Some("image/webp"),
        _ => boxes::photo(bytes),
    }
}

/// Whether every browser shows it; HEIC is kept as it was sent, and only some do.
pub(super) fn shows_everywhere(kind: &str) -> bool {
    !matches!(kind, "image/heic" | "image/heif")
}
