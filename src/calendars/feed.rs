//! Visits as an iCalendar object (RFC 5545). All instants are in UTC, so that no time zone has to be described and no
//! change of clocks can be misread. No METHOD: a feed is read, nobody is invited.

use super::store::Event;
use crate::{
    clock::At,
    exports::lines::{escaped, folded},
    visits::State,
};

/// The media type (RFC 5545, 8.1).
pub(super) const MEDIA_TYPE: &str = "text/calendar; charset=utf-8";

/// The calendar of one vet. It is the same to the byte until a visit changes.
pub(super) fn calendar(name: &str, events: &[Event], shows: &str) -> String {
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
    for event in events {
        lines.extend(lines_of(event, shows));
    }
    lines.push("END:VCALENDAR".to_owned());
    lines.iter().map(|line| folded(line)).collect()
}

fn lines_of(event: &Event, shows: &str) -> Vec<String> {
    let cancelled = event.gone || matches!(event.state, State::Cancelled | State::DidNotCome);
    let mut lines = vec![
        "BEGIN:VEVENT".to_owned(),
        // The id of the visit is random and says nothing about anybody (RFC 7986, 5.3).
        format!("UID:{}", event.id),
        // Of a feed it is when the event was last changed (RFC 5545, 3.8.7.2).
        format!("DTSTAMP:{}", utc(event.changed_at)),
        format!("LAST-MODIFIED:{}", utc(event.changed_at)),
        // Rises with every change of the visit.
        format!("SEQUENCE:{}", event.version - 1),
        format!("DTSTART:{}", utc(event.starts_at)),
        format!("DTEND:{}", utc(event.starts_at.plus_minutes(event.minutes))),
        format!("SUMMARY:{}", escaped(&summary(event, shows))),
        format!("STATUS:{}", if cancelled { "CANCELLED" } else { "CONFIRMED" }),
        "CLASS:PRIVATE".to_owned(),
    ];
    if shows != "time" {
        lines.push(format!("LOCATION:{}", escaped(place(event))));
    }
    lines.push("END:VEVENT".to_owned());
    lines
}

/// No more than the practice has chosen.
fn summary(event: &Event, shows: &str) -> String {
    match (shows, &event.client) {
        ("client", Some(client)) => format!("Visit: {} ({client})", event.horse),
        ("client" | "horse", _) => format!("Visit: {}", event.horse),
        _ => "Visit".to_owned(),
    }
}

fn place(event: &Event) -> &str {
    match &event.yard {
        Some(yard) if event.place == "yard" => yard,
        _ if event.place == "yard" => "yard",
        _ => "clinic",
    }
}

/// `20260311T080000Z`
fn utc(at: At) -> String {
    let iso = at.iso();
    let whole = iso.split('.').next().unwrap_or_default().trim_end_matches('Z');
    format!("{}Z", whole.replace(['-', ':'], ""))
}
