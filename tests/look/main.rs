//! How it looks, checked from the outside.
mod fields;
mod frame;

/// What the frame of a page asks of the program, for pages rendered here without a server.
mod web {
    pub(crate) fn asset(file: &str) -> String {
        format!("static/{file}")
    }
}
