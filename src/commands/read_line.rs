//! `limbledger read-line`: one line of speech or shorthand in, one JSON object out, for as long as lines come.

use std::io::{BufRead, stdin};

use anyhow::Context;

use crate::{catalogue::Catalogue, reasoning::line::Reader, say};

/// Reads stdin to its end. Whatever cannot be read stands in the object, so the exit is always 0.
pub fn run() -> anyhow::Result<()> {
    let reader = Reader::shipped(Catalogue::ready()?);
    let mut input = stdin().lock();
    let mut bytes = Vec::new();
    while input.read_until(b'\n', &mut bytes).context("stdin cannot be read")? > 0 {
        // A byte that is no UTF-8 is shown as such and stays unread.
        let line = String::from_utf8_lossy(&bytes);
        let reading = reader.read(line.trim_end_matches(['\n', '\r']));
        say::line(serde_json::to_string(&reading)?);
        bytes.clear();
    }
    Ok(())
}
