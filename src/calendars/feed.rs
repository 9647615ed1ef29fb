//! Visits as an iCalendar object (RFC 5545). All instants are in UTC, so that no time zone has to be described and no
//! change of clocks can be misread. No METHOD: a feed is read, nobody is invited.

use super::together::{Duty, Entry};
use crate::{
    clock::At,
    exports::lines::{escaped, folded},
};

/// The media type (RFC 5545, 8.1).
pub(super) const MEDIA_TYPE: &str = "text/calendar; charset=utf-8";

/// The watches of one vet, and since when they are so.
pub(super) type Watches<'a> = (&'a [Duty], At);

/// The calendar of one vet. It is the same to the byte until a visit or the rota changes.
pub(super) fn calendar(name: &str, entries: &[Entry], (duties, set_at): Watches<'_>, shows: &str) -> String {
    let mut lines = vec![
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        "PRODID:-//Limbledger//Visits//EN".to_owned(),
        "CALSCALE:GREGORIAN".to_owned(),
        // RFC 7986, 5.1 and 5.7; older programs know the second of each pair.
        format!("NAME:{}", escaped(name)),
        format!("X-WR-CALNAME:{}", escaped(name)),
        "REFRESH-INTERVAL;VALUE=DURATION:PT15M".to_owned(),
        "X-PUBLISHED-TTL:PT15M".to_owned(),
    ];
    for entry in entries {
        lines.extend(lines_of(entry, shows));
    }
    for duty in duties {
        lines.extend(duty_lines(duty, set_at));
    }
    lines.push("END:VCALENDAR".to_owned());
    lines.iter().map(|line| folded(line)).collect()
}

fn lines_of(entry: &Entry, shows: &str) -> Vec<String> {
    let mut lines = vec![
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}", entry.uid),
        // Of a feed it is when the event was last changed (RFC 5545, 3.8.7.2).
        format!("DTSTAMP:{}", utc(entry.changed_at)),
        format!("LAST-MODIFIED:{}", utc(entry.changed_at)),
        format!("SEQUENCE:{}", entry.sequence),
        format!("DTSTART:{}", utc(entry.from)),
        format!("DTEND:{}", utc(entry.until)),
        format!("SUMMARY:{}", escaped(&summary(entry, shows))),
        format!("STATUS:{}", if entry.cancelled { "CANCELLED" } else { "CONFIRMED" }),
        "CLASS:PRIVATE".to_owned(),
    ];
    if shows != "time" {
        lines.push(format!("LOCATION:{}", escaped(&entry.place)));
    }
    lines.push("END:VEVENT".to_owned());
    lines
}

/// A watch takes no time of the day: visits are booked into it.
fn duty_lines(duty: &Duty, set_at: At) -> Vec<String> {
    vec![
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}", duty.uid),
        format!("DTSTAMP:{}", utc(set_at)),
        format!("DTSTART:{}", utc(duty.from)),
        format!("DTEND:{}", utc(duty.until)),
        format!("SUMMARY:{}", duty.words),
        "TRANSP:TRANSPARENT".to_owned(),
        "END:VEVENT".to_owned(),
    ]
}

/// No more than the practice has chosen.
fn summary(entry: &Entry, shows: &str) -> String {
    let visit = match entry.horses.len() {
        1 => "Visit".to_owned(),
        count => format!("Visit, {count} horses"),
    };
    let horses = entry.horses.join(", ");
    match shows {
        "client" if !entry.clients.is_empty() => format!("{visit}: {horses} ({})", entry.clients.join(", ")),
        "client" | "horse" => format!("{visit}: {horses}"),
        _ => visit,
    }
}

/// `20260311T080000Z`
fn utc(at: At) -> String {
    let iso = at.iso();
    let whole = iso.split('.').next().unwrap_or_default().trim_end_matches('Z');
    format!("{}Z", whole.replace(['-', ':'], ""))
}
