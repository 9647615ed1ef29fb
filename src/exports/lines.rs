//! Content lines as calendars and address books read them: folded at 75 octets, never within a letter (RFC 5545, 3.1;
//! RFC 6350, 3.2), with what has a meaning of its own written out (RFC 5545, 3.3.11; RFC 6350, 3.4).

/// Octets of a line without its end.
const LONGEST: usize = 75;

/// A line with its end, folded.
pub(crate) fn folded(line: &str) -> String {
    let mut out = String::with_capacity(line.len() + 8);
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > LONGEST {
            out.push_str("\r\n ");
            octets = 1;
        }
        out.push(letter);
        octets += letter.len_utf8();
    }
    out.push_str("\r\n");
    out
}

/// A text as a value, or as one part of a value that has parts.
pub(crate) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | ',' | ';' => out.extend(['\\', letter]),
            '\n' => out.push_str("\\n"),
            other if other.is_control() => {}
            other => out.push(other),
        }
    }
    out
}
