//! The only reader of the system's clock, and the two kinds of time that are kept: [`At`], an instant, and
//! [`Day`], a date in the practice's own calendar.

use std::{
    fmt,
    str::FromStr,
    sync::{Arc, Mutex, PoisonError},
};

use jiff::{Span, Timestamp, civil::Date, tz::TimeZone};
use serde::{Deserialize, Serialize};
use sqlx::{Decode, Encode, Sqlite, Type, encode::IsNull, error::BoxDynError, sqlite::SqliteArgumentsBuffer};

/// Where the time comes from: the system, or a test that holds it still.
#[derive(Clone, Default)]
pub enum Clock {
    #[default]
    System,
    Held(Arc<Mutex<At>>),
}

impl Clock {
    /// A clock that stands at `at` until it is [`set`](Clock::set).
    pub fn held(at: At) -> Self {
        Clock::Held(Arc::new(Mutex::new(at)))
    }

    /// Moves a held clock; a running one stays as it is.
    pub fn set(&self, at: At) {
        if let Clock::Held(held) = self {
            *held.lock().unwrap_or_else(PoisonError::into_inner) = at;
        }
    }

    #[expect(clippy::disallowed_methods, reason = "the one place where the clock is read")]
    pub fn now(&self) -> At {
        match self {
            Clock::System => At(Timestamp::now().as_millisecond()),
            Clock::Held(at) => *at.lock().unwrap_or_else(PoisonError::into_inner),
        }
    }
}

/// The system's time for certificates, whose validity no test clock may hold still.
#[expect(clippy::disallowed_methods, reason = "the clock is read here and nowhere else")]
pub fn system_timestamp() -> Timestamp {
    Timestamp::now()
}

/// An instant: milliseconds since 1970 in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(transparent)]
#[sqlx(transparent)]
pub struct At(pub i64);

impl At {
    #[must_use]
    pub fn plus_minutes(self, minutes: i64) -> Self {
        At(self.0.saturating_add(minutes.saturating_mul(60_000)))
    }

    #[must_use]
    pub fn plus_millis(self, millis: i64) -> Self {
        At(self.0.saturating_add(millis))
    }

    /// Whole minutes from `earlier` to this instant; negative when it lies ahead.
    pub fn minutes_since(self, earlier: At) -> i64 {
        self.0.saturating_sub(earlier.0) / 60_000
    }

    pub(crate) fn zoned(self, zone: &TimeZone) -> jiff::ZonedDateTime {
        Timestamp::from_millisecond(self.0).unwrap_or(Timestamp::UNIX_EPOCH).to_zoned_datetime(zone.clone())
    }

    /// The practice's date at this instant.
    pub fn day(self, zone: &TimeZone) -> Day {
        Day(self.zoned(zone).date())
    }

    /// The practice's wall clock: `07:05`.
    pub fn hm(self, zone: &TimeZone) -> String {
        self.zoned(zone).strftime("%H:%M").to_string()
    }

    /// Minutes past midnight on the practice's wall clock.
    pub fn minute_of_day(self, zone: &TimeZone) -> i64 {
        let t = self.zoned(zone);
        i64::from(t.hour()) * 60 + i64::from(t.minute())
    }

    /// Date and time in words: `12 Mar 2026, 07:05`.
    pub fn words(self, zone: &TimeZone) -> String {
        self.zoned(zone).strftime("%-d %b %Y, %H:%M").to_string()
    }

    /// For a `datetime` attribute.
    pub fn iso(self) -> String {
        Timestamp::from_millisecond(self.0).unwrap_or(Timestamp::UNIX_EPOCH).to_string()
    }
}

/// A date in the practice's calendar, kept as `YYYY-MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Day(pub Date);

impl Day {
    /// The instant at which the wall clock shows `hour:minute` on this day. A time that the clocks skip is moved
    /// on by the gap, one that happens twice is its first.
    pub fn at(self, hour: i8, minute: i8, zone: &TimeZone) -> At {
        let civil = self.0.at(hour, minute, 0, 0);
        let ms = civil.to_zoned_datetime(zone.clone()).map_or(0, |z| z.timestamp().as_millisecond());
        At(ms)
    }

    pub fn start(self, zone: &TimeZone) -> At {
        self.at(0, 0, zone)
    }

    #[must_use]
    pub fn plus_days(self, days: i64) -> Day {
        Day(self.0.saturating_add(Span::new().days(days.clamp(-100_000, 100_000))))
    }

    /// Days from this day to `later`; negative when it lies behind.
    pub fn days_until(self, later: Day) -> i64 {
        self.0.until(later.0).map_or(0, |span| i64::from(span.get_days()))
    }

    /// `12 Mar 2026`
    pub fn words(self) -> String {
        self.0.strftime("%-d %b %Y").to_string()
    }

    /// `12 Mar`, for columns whose year is plain.
    pub fn short(self) -> String {
        self.0.strftime("%-d %b").to_string()
    }

    /// `Thursday 12 March`
    pub fn long(self) -> String {
        self.0.strftime("%A %-d %B").to_string()
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Day {
    type Err = jiff::Error;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse().map(Day)
    }
}

impl From<Day> for String {
    fn from(day: Day) -> String {
        day.to_string()
    }
}

impl TryFrom<String> for Day {
    type Error = jiff::Error;
    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl Type<Sqlite> for Day {
    fn type_info() -> sqlx::sqlite::SqliteTypeInfo {
        <String as Type<Sqlite>>::type_info()
    }
    fn compatible(ty: &sqlx::sqlite::SqliteTypeInfo) -> bool {
        <String as Type<Sqlite>>::compatible(ty)
    }
}

impl Encode<'_, Sqlite> for Day {
    fn encode_by_ref(&self, buf: &mut SqliteArgumentsBuffer) -> Result<IsNull, BoxDynError> {
        Encode::<Sqlite>::encode(self.to_string(), buf)
    }
}

impl<'r> Decode<'r, Sqlite> for Day {
    fn decode(value: sqlx::sqlite::SqliteValueRef<'r>) -> Result<Self, BoxDynError> {
        Ok(<&str as Decode<Sqlite>>::decode(value)?.parse()?)
    }
}

/// How long something has been going on: "95 min", "5 h 10 min", "2 days 3 h". Blocks are told in minutes for hours.
pub fn since_words(minutes: i64) -> String {
    const IN_MINUTES: i64 = 180;
    let (hours, rest) = (minutes / 60, minutes % 60);
    match hours / 24 {
        _ if minutes < IN_MINUTES => format!("{minutes} min"),
        0 => format!("{hours} h {rest} min"),
        1 => format!("1 day {} h", hours % 24),
        days => format!("{days} days {} h", hours % 24),
    }
}
