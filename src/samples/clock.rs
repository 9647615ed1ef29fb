//! The clock of a sample: how long ago it was taken, and what its protocol says of that. Computed from the stored
//! instants; the script only counts on. The limits are references.

use jiff::tz::TimeZone;

use crate::{
    catalogue::diagnostics::Protocol,
    clock::{At, since_words},
    record::{Parcel, Sample},
};

const MS_PER_MIN: f64 = 60_000.0;
const MIN_PER_HOUR: f64 = 60.0;
const MIN_PER_DAY: f64 = 1_440.0;
/// From here on a clock is told in days and hours, and stands still.
const COUNTS_MIN: i64 = 1_440;

/// A clock, ready for a page and for its script.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    /// `early`, `now` or `late`.
    pub phase: &'static str,
    /// Instants in RFC 3339; `until` is empty where nothing ends.
    pub at: String,
    pub from: String,
    pub until: String,
    /// The words of each phase.
    pub early: String,
    pub now: String,
    pub late: String,
    /// Since it was taken: "12 min", "2 days 3 h".
    pub since: String,
    /// Whether the script counts on.
    pub counts: bool,
}

/// A time in which something is done, with the words before, in and after it.
struct Span {
    from: At,
    until: Option<At>,
    words: [String; 3],
}

impl Clock {
    /// None for a sample that nobody said the time of.
    pub(super) fn of(
        sample: &Sample,
        protocol: Option<&Protocol>,
        parcel: Option<&Parcel>,
        now: At,
        zone: &TimeZone,
    ) -> Option<Self> {
        let taken = sample.at?;
        let arrived = parcel.and_then(|parcel| parcel.received_on.as_deref());
        let span = match arrived {
            Some(day) => {
                Span { from: taken, until: None, words: always(format!("at the laboratory since {day}")) }
            }
            None => waiting(sample, taken, protocol, zone),
        };
        let phase = match span.until {
            _ if now < span.from => "early",
            Some(until) if now > until => "late",
            _ => "now",
        };
        let minutes = now.minutes_since(taken).max(0);
        let [early, during, late] = span.words;
        Some(Clock {
            phase,
            at: taken.iso(),
            from: span.from.iso(),
            until: span.until.map(At::iso).unwrap_or_default(),
            early,
            now: during,
            late,
            since: since_words(minutes),
            counts: arrived.is_none() && minutes < COUNTS_MIN,
        })
    }

    pub(super) fn words(&self) -> &str {
        match self.phase {
            "early" => &self.early,
            "late" => &self.late,
            _ => &self.now,
        }
    }
}

/// What a sample waits for that no laboratory has yet.
fn waiting(sample: &Sample, taken: At, protocol: Option<&Protocol>, zone: &TimeZone) -> Span {
    let at = |at: At| at.words(zone);
    if let (None, Some([from, to])) = (sample.into_at, protocol.and_then(|row| row.air_min)) {
        let (first, last) = (after(taken, from), after(taken, to));
        let words = [
            format!("in air, into the fixative from {} to {}", first.hm(zone), last.hm(zone)),
            format!("into the fixative until {}", last.hm(zone)),
            format!("in air for longer than {to} min, since {}", last.hm(zone)),
        ];
        return Span { from: first, until: Some(last), words };
    }
    if let (Some(fixed), Some(days)) = (sample.into_at, protocol.and_then(|row| row.fixed_days)) {
        let last = after(fixed, days * MIN_PER_DAY);
        let during = format!("in the fixative since {}, {days} days are over {}", at(fixed), at(last));
        let late = format!("in the fixative for more than {days} days, since {}", at(last));
        return Span { from: taken, until: Some(last), words: [during.clone(), during, late] };
    }
    if let Some(hours) = protocol.and_then(|row| row.courier_hours) {
        let last = after(taken, hours * MIN_PER_HOUR);
        let during = format!("to be at the laboratory until {}", at(last));
        let late = format!("on its way for more than {hours} h, since {}", at(last));
        return Span { from: taken, until: Some(last), words: [during.clone(), during, late] };
    }
    Span { from: taken, until: None, words: always(format!("since {}", at(taken))) }
}

fn always(words: String) -> [String; 3] {
    [words.clone(), words.clone(), words]
}

#[expect(clippy::cast_possible_truncation, reason = "the catalogue's minutes are few")]
fn after(at: At, minutes: f64) -> At {
    at.plus_millis((minutes * MS_PER_MIN) as i64)
}

/// The limits of a protocol in words: "in air 3 to 5 min".
pub(super) fn limits(protocol: &Protocol) -> Vec<String> {
    let mut all = Vec::new();
    all.extend(protocol.air_min.map(|[from, to]| format!("in air {from} to {to} min")));
    all.extend(protocol.fixed_days.map(|days| format!("in the fixative best no more than {days} days")));
    all.extend(protocol.courier_hours.map(|hours| format!("on its way no more than {hours} h")));
    let days = |words: &str, days: &[crate::catalogue::diagnostics::Weekday]| {
        let named = crate::catalogue::diagnostics::Weekday::words(days);
        (!days.is_empty()).then(|| format!("{words} {named}"))
    };
    all.extend(days("taken", &protocol.take_days));
    all.extend(days("arrives", &protocol.arrive_days));
    all
}
