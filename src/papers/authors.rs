//! Who saw and who typed how much of a visit, and when.

use super::report::{Names, name};
use crate::{clock::At, record::Entry};

/// Who saw and who typed how much.
#[derive(Debug)]
pub(super) struct Author {
    pub seen_by: String,
    pub entered_by: String,
    pub count: usize,
    pub first: At,
    pub last: At,
    /// Some of it by a clock that stood more than two minutes off; the times shown are corrected.
    pub clock_was_off: bool,
}

pub(super) fn authors(entries: &[Entry], names: &Names) -> Vec<Author> {
    let mut all: Vec<Author> = Vec::new();
    for e in entries {
        let (seen_by, entered_by) = (name(names, e.seen_by), name(names, e.entered_by));
        let seen = e.seen();
        match all.iter_mut().find(|a| a.seen_by == seen_by && a.entered_by == entered_by) {
            Some(known) => {
                known.count += 1;
                (known.first, known.last) = (known.first.min(seen), known.last.max(seen));
                known.clock_was_off |= e.clock_was_off();
            }
            None => all.push(Author {
                seen_by,
                entered_by,
                count: 1,
                first: seen,
                last: seen,
                clock_was_off: e.clock_was_off(),
            }),
        }
    }
    all
}
