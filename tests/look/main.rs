//! How it looks, checked from the outside.
#![expect(clippy::unwrap_used, clippy::panic, reason = "a test that cannot go on should stop")]

mod body;
mod fields;
mod frame;
mod palette;

/// What the frame of a page asks of the program, for pages rendered here without a server.
mod web {
    pub(crate) fn asset(file: &str) -> String {
        format!("static/{file}")
    }
}
