//! Which copies are kept: the newest of each of the last days, weeks and months that have one.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime};

/// How many days, weeks (from Monday) and months keep a copy.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    pub days: usize,
    pub weeks: usize,
    pub months: usize,
}

/// The copies that may go, of those made at these times. The newest of all always stays.
pub fn superfluous(made: &[DateTime], kept: Kept) -> Vec<DateTime> {
    let mut newest_first: Vec<DateTime> = made.to_vec();
    newest_first.sort_unstable_by(|a, b| b.cmp(a));
    let mut stay: BTreeSet<DateTime> = newest_first.first().copied().into_iter().collect();
    stay.extend(first_of_each(&newest_first, kept.days, |at| at.date()));
    stay.extend(first_of_each(&newest_first, kept.weeks, |at| {
        let date = at.date();
        date.saturating_sub(jiff::Span::new().days(i64::from(date.weekday().to_monday_zero_offset())))
    }));
    stay.extend(first_of_each(&newest_first, kept.months, |at| at.date().first_of_month()));
    newest_first.retain(|at| !stay.contains(at));
    newest_first
}

/// The newest of each span, of the newest `many` spans that have one.
fn first_of_each(newest_first: &[DateTime], many: usize, span: impl Fn(&DateTime) -> Date) -> Vec<DateTime> {
    let mut spans = BTreeSet::new();
    let mut first = Vec::new();
    for at in newest_first {
        if spans.len() < many && spans.insert(span(at)) {
            first.push(*at);
        }
    }
    first
}
