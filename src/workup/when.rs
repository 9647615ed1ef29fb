//! A time on the wall clock, as it is typed beside the horse: of today, of the last hours before midnight, or of the day
//! the visit began.

use jiff::tz::TimeZone;

use crate::{
    clock::{At, Day},
    web::Check,
};

/// Clocks of a tablet and of a wrist differ by so much.
const AHEAD_MIN: i64 = 5;

/// A time of yesterday is meant when it lies no further back.
const NIGHT_HOURS: i64 = 12;

/// The latest instant that shows this time and has come.
pub(super) fn past(
    check: &mut Check,
    field: &str,
    typed: &str,
    days: (At, At),
    zone: &TimeZone,
) -> Option<At> {
    let (hour, minute) = check.time(field, typed)?;
    let (now, began) = days;
    let on = |day: Day| day.at(hour, minute, zone);
    let today = now.day(zone);
    let night = Some(on(today.plus_days(-1))).filter(|at| now.minutes_since(*at) <= NIGHT_HOURS * 60);
    let all = [Some(on(today)), Some(on(began.day(zone))), night];
    let found = all.into_iter().flatten().filter(|at| *at <= now.plus_minutes(AHEAD_MIN)).max();
    if found.is_none() {
        check.errors.add(field, "This time has not come yet. Enter when it was.");
    }
    found
}

/// The next instant that shows this time; empty is none.
pub(super) fn coming(check: &mut Check, field: &str, typed: &str, now: At, zone: &TimeZone) -> Option<At> {
    if typed.trim().is_empty() {
        return None;
    }
    let (hour, minute) = check.time(field, typed)?;
    let today = now.day(zone);
    let on = [today, today.plus_days(1)].map(|day| day.at(hour, minute, zone));
    on.into_iter().find(|at| *at >= now)
}
