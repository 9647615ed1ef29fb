//! Files at the result of an order that are no DICOM: the laboratory's PDF, a photo of a screen, a table of numbers. Each
//! is an entry of the record (`file`, its `value` the file's SHA-256) and a file kept as it was sent.
//!
//! - [`kind`]: what a file is, by its bytes; [`upload`]: one out of a form.
//! - [`pages`]: taking one in, and giving it out for the browser to save.

mod kind;
mod pages;
pub(super) mod store;
mod upload;

pub(super) use pages::{download, send};

/// Bytes of the largest file.
pub(super) const LARGEST: u64 = 32 * 1024 * 1024;

/// "PDF", "table"; what a media type is called.
pub(super) fn kind_words(kind: &str) -> &'static str {
    match kind {
        "application/pdf" => "PDF",
        "image/jpeg" => "JPEG",
        "image/png" => "PNG",
        "text/csv" => "table",
        _ => "text",
    }
}
