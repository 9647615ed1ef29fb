//! What a file is by its bytes, whatever it is called: PDF, JPEG, PNG, a text, or a text that is a table.

use std::{
    fs::File,
    io::{self, BufRead, BufReader},
    path::Path,
};

const PIECE: usize = 64 * 1024;
/// What stands between the columns of a table.
const SIGNS: [u8; 3] = *b",;\t";

/// The media type of a file that is whole; `None` for what is not taken. Of a text every byte is looked at.
///
/// # Errors
/// The file is not there or cannot be read.
pub(super) fn kind(path: &Path) -> io::Result<Option<&'static str>> {
    let mut file = BufReader::with_capacity(PIECE, File::open(path)?);
    Ok(match file.fill_buf()? {
        [] => None,
        // ISO 32000-1, 7.5.2.
        [b'%', b'P', b'D', b'F', b'-', ..] => Some("application/pdf"),
        // ITU-T T.81, annex B.
        [0xFF, 0xD8, 0xFF, ..] => Some("image/jpeg"),
        // PNG specification, 5.2.
        [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => Some("image/png"),
        _ => text(&mut file)?,
    })
}

/// A text holds no control characters but tabs and ends of lines, in whichever letters it is written.
fn text(file: &mut impl BufRead) -> io::Result<Option<&'static str>> {
    let mut reading = Reading::default();
    loop {
        let piece = file.fill_buf()?;
        if piece.is_empty() {
            break;
        }
        if !piece.iter().all(|byte| is_text(*byte)) {
            return Ok(None);
        }
        for byte in piece {
            reading.take(*byte);
        }
        let read = piece.len();
        file.consume(read);
    }
    reading.end_line();
    Ok(Some(if reading.is_table() { "text/csv" } else { "text/plain" }))
}

fn is_text(byte: u8) -> bool {
    byte >= b' ' && byte != 0x7F || matches!(byte, b'\t' | b'\n' | b'\r' | 0x0C)
}

/// How the columns of a text stand so far (RFC 4180): the same sign as often in every line, outside of quotes.
#[derive(Default)]
struct Reading {
    lines: usize,
    blank: bool,
    quoted: bool,
    here: [usize; SIGNS.len()],
    /// How often each sign stood in the lines so far; `None` once they differ.
    each: Option<[Option<usize>; SIGNS.len()]>,
}

impl Reading {
    fn take(&mut self, byte: u8) {
        match byte {
            b'\n' if !self.quoted => return self.end_line(),
            b'\r' => return,
            b'"' => self.quoted = !self.quoted,
            _ => {}
        }
        self.blank = false;
        if let Some(sign) = SIGNS.iter().position(|sign| *sign == byte).filter(|_| !self.quoted)
            && let Some(count) = self.here.get_mut(sign)
        {
            *count += 1;
        }
    }

    fn end_line(&mut self) {
        let (here, blank) = (std::mem::take(&mut self.here), std::mem::replace(&mut self.blank, true));
        if blank {
            return;
        }
        self.lines += 1;
        let before = self.each.unwrap_or_else(|| here.map(Some));
        let mut each = before.into_iter().zip(here).map(|(each, here)| each.filter(|each| *each == here));
        self.each = Some(std::array::from_fn(|_| each.next().flatten()));
    }

    fn is_table(&self) -> bool {
        let even = self.each.iter().flatten().any(|each| each.is_some_and(|count| count > 0));
        self.lines > 1 && even
    }
}
