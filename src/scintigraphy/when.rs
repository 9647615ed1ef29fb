//! Days and times as they are typed beside the scan.

use jiff::tz::TimeZone;

use crate::{clock::At, web::Check};

/// Clocks of a meter and of a wrist differ by so much.
const AHEAD_MIN: i64 = 5;
const DAY_MIN: i64 = 24 * 60;

/// The instant of a day and a time, neither of which may lie ahead.
pub(super) fn past(
    check: &mut Check,
    (on_field, on): (&str, &str),
    (at_field, at): (&str, &str),
    (now, zone): (At, &TimeZone),
) -> Option<At> {
    let day = check.day(on_field, on);
    if on.trim().is_empty() {
        check.errors.add(on_field, "Enter the day.");
    }
    let (hour, minute) = check.time(at_field, at)?;
    let at = day?.at(hour, minute, zone);
    if at > now.plus_minutes(AHEAD_MIN) {
        check.errors.add(at_field, "This time has not come yet. Enter when it was.");
    }
    Some(at)
}

/// The last instant that shows this time, not after `limit` and within a day before it.
pub(super) fn before(check: &mut Check, field: &str, typed: &str, limit: At, zone: &TimeZone) -> Option<At> {
    let (hour, minute) = check.time(field, typed)?;
    let today = limit.day(zone);
    [today, today.plus_days(-1)].map(|day| day.at(hour, minute, zone)).into_iter().find(|at| *at <= limit)
}

/// The first instant that shows this time, not before `from` and within a day after it.
pub(super) fn after(check: &mut Check, field: &str, typed: &str, from: At, zone: &TimeZone) -> Option<At> {
    let (hour, minute) = check.time(field, typed)?;
    let today = from.day(zone);
    let on = [today, today.plus_days(1)].map(|day| day.at(hour, minute, zone));
    on.into_iter().find(|at| *at >= from && at.minutes_since(from) <= DAY_MIN)
}
