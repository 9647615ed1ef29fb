//! A day and a time of something that has happened, as they are typed.

use jiff::tz::TimeZone;

use crate::{
    clock::{At, Day},
    web::Check,
};

/// Clocks of a tablet and of a wrist differ by so much.
const AHEAD_MIN: i64 = 5;
/// Nobody enters a sample later than this; an older year is a slip of the finger.
const OLDEST_DAYS: i64 = 366;

/// The instant of `day` and `time`, which are fields with what was typed.
pub(super) fn instant(
    check: &mut Check,
    day: (&str, &str),
    time: (&str, &str),
    now: At,
    zone: &TimeZone,
) -> Option<At> {
    let on = past_day(check, day.0, day.1, now.day(zone));
    let (hour, minute) = check.time(time.0, time.1)?;
    let at = on?.at(hour, minute, zone);
    if at <= now.plus_minutes(AHEAD_MIN) {
        return Some(at);
    }
    check.errors.add(time.0, "This time has not come yet. Enter when it was.");
    None
}

/// A day that has come; empty is an error.
pub(super) fn past_day(check: &mut Check, field: &str, typed: &str, today: Day) -> Option<Day> {
    if typed.trim().is_empty() {
        check.errors.add(field, "Enter the day.");
        return None;
    }
    let day = check.day(field, typed)?;
    if day > today {
        check.errors.add(field, "This day has not come yet. Enter when it was.");
        return None;
    }
    if day.days_until(today) > OLDEST_DAYS {
        check.errors.add(field, "This is more than a year ago. Check the year.");
        return None;
    }
    Some(day)
}
