//! From when a horse that was treated may compete by the rules that a body has for the treatment.
//!
//! Two kinds of rule are kept apart. A detection time says how long a medicine was still found in horses that were tested;
//! it is no withdrawal time until a veterinarian adds a margin, so that without one there is no day. A stand-down is a
//! body's own waiting time, whatever can still be found. Hours are hours that pass, over a change of clocks too; clear
//! days are days of the calendar, the day of the treatment and the day of the event not counted.

use std::cmp::Reverse;

use jiff::{Span, tz::TimeZone};
use serde::{Deserialize, Serialize};

use crate::clock::{At, Day};

/// What a rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "snake_case")]
#[sqlx(rename_all = "snake_case")]
pub enum Kind {
    Detection,
    StandDown,
}

/// How long a rule lasts from the end of a treatment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Interval {
    Hours(u32),
    /// Whole days between the day of the treatment and the day of the event.
    ClearDays(u32),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    pub kind: Kind,
    pub interval: Interval,
}

/// What a veterinarian adds, for this horse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Margin {
    Hours(u32),
    Days(u32),
}

impl Margin {
    fn is_nothing(self) -> bool {
        matches!(self, Margin::Hours(0) | Margin::Days(0))
    }
}

/// A treatment and one rule that it meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Treated {
    /// When the last of it was given; `None` when nobody has said.
    pub end: Option<At>,
    pub rule: Rule,
    pub margin: Option<Margin>,
}

/// From when one rule lets the horse compete.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Free {
    From(Day),
    /// A detection time to which nobody has added a margin.
    NoMargin,
    /// Nobody has said when the last was given.
    NoEnd,
}

impl Treated {
    /// The first day that begins after the interval and the margin are over.
    pub fn free(&self, zone: &TimeZone) -> Free {
        let Some(end) = self.end else { return Free::NoEnd };
        if self.rule.kind == Kind::Detection && self.margin.is_none_or(Margin::is_nothing) {
            return Free::NoMargin;
        }
        let over = match self.rule.interval {
            Interval::Hours(hours) => end.plus_minutes(i64::from(hours) * 60),
            Interval::ClearDays(days) => end.day(zone).plus_days(i64::from(days) + 1).start(zone),
        };
        Free::From(match self.margin {
            None => first_day(over, zone),
            Some(Margin::Hours(hours)) => first_day(over.plus_minutes(i64::from(hours) * 60), zone),
            Some(Margin::Days(days)) => first_day(over, zone).plus_days(i64::from(days)),
        })
    }
}

/// The first day that does not begin before an instant: an event may be early in the morning.
fn first_day(at: At, zone: &TimeZone) -> Day {
    let day = at.day(zone);
    if day.start(zone) >= at { day } else { day.plus_days(1) }
}

/// Days that lie between the two, neither of them counted; negative when the event does not come after.
pub fn clear_days(treated: Day, event: Day) -> i64 {
    treated.days_until(event) - 1
}

/// From when all rules together let the horse compete.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Earliest {
    /// No rule was met. That is not the same as free.
    NoRule,
    /// A margin or an end is missing.
    Open,
    From {
        day: Day,
        /// The place of what decides; the first where several fall on that day.
        by: usize,
    },
}

/// What each says, and all together.
pub fn reckon(treated: &[Treated], zone: &TimeZone) -> (Vec<Free>, Earliest) {
    let each: Vec<Free> = treated.iter().map(|one| one.free(zone)).collect();
    let mut days = Vec::with_capacity(each.len());
    for (by, free) in each.iter().enumerate() {
        match free {
            Free::From(day) => days.push((*day, by)),
            Free::NoMargin | Free::NoEnd => return (each, Earliest::Open),
        }
    }
    let last = days.into_iter().max_by_key(|(day, by)| (*day, Reverse(*by)));
    let earliest = last.map_or(Earliest::NoRule, |(day, by)| Earliest::From { day, by });
    (each, earliest)
}

/// When a set of rules holds, and when somebody read it last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Validity {
    pub from: Day,
    pub to: Option<Day>,
    pub read_on: Day,
}

/// Why a set of rules cannot be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// It begins after the event.
    NotYet,
    /// It ends before the event.
    Over,
    /// It has ended by today.
    Expired,
    /// Nobody has read it for so many months.
    Old { months: i32 },
}

impl Validity {
    pub fn holds_on(&self, day: Day) -> bool {
        self.from <= day && self.to.is_none_or(|to| day <= to)
    }

    /// Everything that speaks against the set for an event, as of today.
    pub fn doubts(&self, event: Day, today: Day, old_after_months: i32) -> Vec<Doubt> {
        let ends_before = |day: Day| self.to.is_some_and(|to| to < day);
        let read_again = Day(self.read_on.0.saturating_add(Span::new().months(old_after_months)));
        let all = [
            (self.from > event, Doubt::NotYet),
            (ends_before(event), Doubt::Over),
            (ends_before(today), Doubt::Expired),
            (read_again < today, Doubt::Old { months: old_after_months }),
        ];
        all.into_iter().filter(|(holds, _)| *holds).map(|(_, doubt)| doubt).collect()
    }
}
