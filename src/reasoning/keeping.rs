//! Until when a record is kept, and by when a copy of it is due: civil days in and out.

use jiff::{Span, civil::Weekday};

use crate::clock::Day;

/// The last day on which a record must still be there: so many years from its latest entry. A 29 February becomes the 28th,
/// which is moved on by a day, so that nothing is let go too soon.
pub fn kept_until(latest: Day, years: u16) -> Day {
    let day = Day(latest.0.saturating_add(Span::new().years(i64::from(years))));
    if day.0.day() == latest.0.day() { day } else { day.plus_days(1) }
}

/// The day by which a copy is due: the day of asking is not counted, and of business days neither Saturdays nor Sundays.
/// Holidays are counted, which errs on the side of who asks.
pub fn copy_due(asked: Day, days: u16, business: bool) -> Day {
    if !business {
        return asked.plus_days(i64::from(days));
    }
    let mut due = asked;
    let mut left = days;
    while left > 0 {
        due = due.plus_days(1);
        if !matches!(due.0.weekday(), Weekday::Saturday | Weekday::Sunday) {
            left -= 1;
        }
    }
    due
}
