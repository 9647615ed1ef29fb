//! The visits of a shared stop as one entry of a calendar, and a vet's watches of the rota beside them.

use jiff::tz::TimeZone;

use super::store::Event;
use crate::{
    clock::{At, Day},
    ids::{StaffId, StopId},
    reasoning::watch::Part,
    rota::Rota,
    visits::State,
};

/// One entry: a visit, or the visits of a stop.
#[derive(Debug)]
pub(super) struct Entry {
    pub uid: String,
    /// Rises with every change.
    pub sequence: i64,
    pub changed_at: At,
    pub from: At,
    pub until: At,
    pub cancelled: bool,
    pub horses: Vec<String>,
    pub clients: Vec<String>,
    pub place: String,
}

/// By time; a stop stands where its first visit does.
pub(super) fn entries(events: &[Event]) -> Vec<Entry> {
    let mut done: Vec<StopId> = Vec::new();
    let mut entries = Vec::new();
    for event in events {
        match event.stop {
            None => entries.push(entry(&[event])),
            Some(stop) if !done.contains(&stop) => {
                done.push(stop);
                entries.push(entry(&events.iter().filter(|e| e.stop == Some(stop)).collect::<Vec<_>>()));
            }
            Some(_) => {}
        }
    }
    entries
}

fn is_off(event: &Event) -> bool {
    event.gone || matches!(event.state, State::Cancelled | State::DidNotCome)
}

/// Those that belong together, at least one. What is off is not said, unless all of it is.
fn entry(together: &[&Event]) -> Entry {
    let cancelled = together.iter().all(|event| is_off(event));
    let said: Vec<&&Event> = together.iter().filter(|event| cancelled || !is_off(event)).collect();
    let first = together[0];
    let ends = said.iter().map(|event| event.starts_at.plus_minutes(event.minutes));
    let mut clients: Vec<String> = said.iter().filter_map(|event| event.client.clone()).collect();
    clients.sort();
    clients.dedup();
    let stop = first.stop.zip(first.stop_version);
    Entry {
        // The ids are random and say nothing about anybody (RFC 7986, 5.3).
        uid: stop.map_or_else(|| first.id.to_string(), |(stop, _)| stop.to_string()),
        sequence: stop.map_or(first.version, |(_, version)| version) - 1,
        changed_at: together.iter().map(|event| event.changed_at).max().unwrap_or(first.changed_at),
        from: said.iter().map(|event| event.starts_at).min().unwrap_or(first.starts_at),
        until: ends.max().unwrap_or(first.starts_at),
        cancelled,
        horses: said.iter().map(|event| event.horse.clone()).collect(),
        clients,
        place: match &first.yard {
            Some(yard) if first.place == "yard" => yard.clone(),
            _ if first.place == "yard" => "yard".into(),
            _ => "clinic".into(),
        },
    }
}

/// A watch that a vet holds or backs up.
#[derive(Debug)]
pub(super) struct Duty {
    pub uid: String,
    pub from: At,
    pub until: At,
    pub words: &'static str,
}

/// A vet's watches of some days.
pub(super) fn duties(rota: &Rota, vet: StaffId, (from, days): (Day, i64), zone: &TimeZone) -> Vec<Duty> {
    let mut duties = Vec::new();
    for day in (0..days).map(|n| from.plus_days(n)) {
        for part in Part::BOTH {
            let on = rota.on(day, part, zone);
            let words = match part {
                Part::Day => ["On call by day", "Backup by day"],
                Part::Night => ["On call at night", "Backup at night"],
            };
            for ((person, role), words) in [(on.first, "first"), (on.backup, "backup")].into_iter().zip(words)
            {
                if person.is_some_and(|person| person.id == vet) {
                    let uid = format!("rota-{day}-{}-{role}-{vet}", part.key());
                    duties.push(Duty { uid, from: on.watch.from, until: on.watch.until, words });
                }
            }
        }
    }
    duties
}
