//! Which watch of the rota an instant lies in: the day's or the night's, from one hand-over to the next.
//!
//! A night belongs to the day on which it begins. Its ends are times of the wall clock, so that on the days on which the
//! clocks change a watch is an hour shorter or longer, and no minute is without one.

use jiff::tz::TimeZone;

use crate::clock::{At, Day};

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Part {
    Day,
    Night,
}

impl Part {
    pub const BOTH: [Part; 2] = [Part::Day, Part::Night];

    pub fn key(self) -> &'static str {
        match self {
            Part::Day => "day",
            Part::Night => "night",
        }
    }
}

/// When the watch passes on, in minutes after midnight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HandOver {
    pub to_day_min: i64,
    pub to_night_min: i64,
}

/// One watch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Watch {
    pub day: Day,
    pub part: Part,
    pub from: At,
    pub until: At,
}

impl HandOver {
    pub fn watch(&self, day: Day, part: Part, zone: &TimeZone) -> Watch {
        let (morning, evening) = (clock(day, self.to_day_min, zone), clock(day, self.to_night_min, zone));
        let (from, until) = match part {
            Part::Day => (morning, evening),
            Part::Night => (evening, clock(day.plus_days(1), self.to_day_min, zone)),
        };
        Watch { day, part, from, until }
    }

    /// The watch at an instant; at the very minute of a hand-over it is the later one.
    pub fn at(&self, now: At, zone: &TimeZone) -> Watch {
        let today = now.day(zone);
        let day = self.watch(today, Part::Day, zone);
        if now < day.from {
            self.watch(today.plus_days(-1), Part::Night, zone)
        } else if now < day.until {
            day
        } else {
            self.watch(today, Part::Night, zone)
        }
    }
}

fn clock(day: Day, minutes: i64, zone: &TimeZone) -> At {
    let part = |n: i64| i8::try_from(n).unwrap_or_default();
    day.at(part(minutes / 60), part(minutes % 60), zone)
}

/// The Monday of a day's week.
pub fn monday(day: Day) -> Day {
    day.plus_days(-i64::from(day.0.weekday().to_monday_zero_offset()))
}

/// Which week of a pattern of so many weeks a day lies in, from 1 on. The pattern is counted from a Monday long ago, so
/// that it goes on over the end of a year.
pub fn week_of_pattern(day: Day, weeks: i64) -> i64 {
    let long_ago = monday(Day(jiff::civil::date(2001, 1, 1)));
    (long_ago.days_until(monday(day)) / 7).rem_euclid(weeks.max(1)) + 1
}
