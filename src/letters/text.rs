//! The words of a letter as parts: headings after `#`, lists after `-`, and paragraphs between blank lines.

use crate::reasoning::fill::level;

/// A part of a letter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    Title(String),
    Heading(String),
    List(Vec<String>),
    /// Its lines stay lines.
    Paragraph(Vec<String>),
}

/// Reads the words of a letter.
pub fn parts(words: &str) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    let mut apart = true;
    for line in words.lines() {
        let line = line.trim_end();
        if line.is_empty() {
            apart = true;
            continue;
        }
        let item = line.strip_prefix("- ");
        match (level(line), item, parts.last_mut()) {
            (Some(1), ..) => parts.push(Part::Title(line.trim_start_matches('#').trim().to_owned())),
            (Some(_), ..) => parts.push(Part::Heading(line.trim_start_matches('#').trim().to_owned())),
            (None, Some(item), Some(Part::List(items))) => items.push(item.to_owned()),
            (None, Some(item), _) => parts.push(Part::List(vec![item.to_owned()])),
            (None, None, Some(Part::Paragraph(lines))) if !apart => lines.push(line.to_owned()),
            (None, None, _) => parts.push(Part::Paragraph(vec![line.to_owned()])),
        }
        apart = false;
    }
    parts
}
