//! A vet's hours in one line, as people write them: "Mon-Fri 8:00-18:00, Sat 8-12".

use crate::web::Check;

/// Monday first, as keys and as they are shown.
pub const WEEKDAYS: [(&str, &str); 7] = [
    ("mon", "Mon"),
    ("tue", "Tue"),
    ("wed", "Wed"),
    ("thu", "Thu"),
    ("fri", "Fri"),
    ("sat", "Sat"),
    ("sun", "Sun"),
];

/// Hour and minute of the wall clock.
type Time = (i8, i8);

/// From when until when, Monday first; none for a day off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Hours {
    pub days: [Option<(Time, Time)>; 7],
}

impl Hours {
    /// The same hours from Monday to Friday, in minutes after midnight.
    pub fn weekdays(from_min: i64, until_min: i64) -> Self {
        let time = |minutes: i64| {
            let part = |n: i64| i8::try_from(n).unwrap_or_default();
            (part(minutes / 60), part(minutes % 60))
        };
        let mut hours = Hours::default();
        hours.days[..5].fill(Some((time(from_min), time(until_min))));
        hours
    }

    /// # Errors
    /// A sentence that says what cannot be read.
    pub fn read(text: &str) -> Result<Self, String> {
        let mut hours = Hours::default();
        for part in text.split([',', ';', '\n']).map(str::trim).filter(|part| !part.is_empty()) {
            let wrong = || format!("“{part}” cannot be read. Write it as Mon-Fri 8:00-18:00, Sat 8-12.");
            let digit = part.find(|c: char| c.is_ascii_digit()).ok_or_else(wrong)?;
            let (days, times) = part.split_at(digit);
            let (from, until) = pair(times).ok_or_else(wrong)?;
            let (from, until) = (time(from).ok_or_else(wrong)?, time(until).ok_or_else(wrong)?);
            if from >= until {
                return Err(format!("“{part}”: the day must end after it begins."));
            }
            for day in range(days.trim()).ok_or_else(wrong)? {
                hours.days[day] = Some((from, until));
            }
        }
        Ok(hours)
    }

    /// In one line, days of the same hours together.
    pub fn words(&self) -> String {
        let mut parts = Vec::new();
        let mut at = 0;
        while at < self.days.len() {
            let same = self.days[at..].iter().take_while(|day| **day == self.days[at]).count();
            if let Some(((h, m), (to_h, to_m))) = self.days[at] {
                let (first, last) = (WEEKDAYS[at].1, WEEKDAYS[at + same - 1].1);
                let days = if same == 1 { first.to_owned() } else { format!("{first}-{last}") };
                parts.push(format!("{days} {h}:{m:02}-{to_h}:{to_m:02}"));
            }
            at += same;
        }
        parts.join(", ")
    }
}

/// Two sides of a dash or of "to".
fn pair(text: &str) -> Option<(&str, &str)> {
    text.split_once(['-', '–']).or_else(|| text.split_once(" to ")).map(|(a, b)| (a.trim(), b.trim()))
}

fn time(text: &str) -> Option<Time> {
    Check::new().time("hours", text)
}

fn range(days: &str) -> Option<Vec<usize>> {
    if matches!(days.to_lowercase().as_str(), "" | "daily" | "every day") {
        return Some((0..7).collect());
    }
    let (first, last) = pair(days).unwrap_or((days, days));
    let (first, last) = (weekday(first)?, weekday(last)?);
    let count = (last + 7 - first) % 7;
    Some((0..=count).map(|n| (first + n) % 7).collect())
}

/// By its first three letters or more.
fn weekday(name: &str) -> Option<usize> {
    const NAMES: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let name = name.trim_end_matches('.').to_lowercase();
    NAMES.iter().position(|full| name.len() >= 3 && full.starts_with(&name))
}
