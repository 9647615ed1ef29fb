//! What the program tells whoever started it: the one place that writes to the terminal.
//!
//! Lines for scripts go to stdout, words for people to stderr. A reader that went away is no reason to
//! stop serving, so a failed write is let go.

use std::fmt::Display;
use std::io::Write;

/// One line on stdout, where scripts read it.
pub fn line(text: impl Display) {
    let mut out = std::io::stdout().lock();
    let _ = writeln!(out, "{text}").and_then(|()| out.flush());
}

/// One line on stderr, for the person at the server.
pub fn aside(text: impl Display) {
    let _ = writeln!(std::io::stderr().lock(), "{text}");
}
