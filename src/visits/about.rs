//! What a line of the day says beside itself: the stop it shares, what is marked about it, and who is not told yet.

use std::collections::HashSet;

use super::{State, day::Row};
use crate::{biosecurity::Marks, clock::Day, contacts::store::ToTell, ids::StaffId};

/// Marks where a shared stop begins, and the lines that belong to it.
pub(super) fn stops(rows: &mut [Row]) {
    let mut at = 0;
    while at < rows.len() {
        let first = &rows[at].line;
        let shares = |row: &&Row| first.stop_id.is_some() && row.line.stop_id == first.stop_id;
        let count = rows[at..].iter().take_while(shares).count().max(1);
        if count > 1 {
            let minutes = rows[at..at + count].iter().map(|row| row.line.minutes).sum();
            rows[at].stop = Some((count, minutes));
            for row in &mut rows[at + 1..at + count] {
                row.goes_on = true;
            }
        }
        at += count;
    }
}

/// Says what is marked, and what comes after it on the same vet's round.
pub(super) fn marks(rows: &mut [Row], marks: &Marks, day: Day) {
    let mut carries: HashSet<Option<StaffId>> = HashSet::new();
    for row in rows.iter_mut().filter(|row| row.line.state != State::DidNotCome) {
        let yard = row.line.yard_id.filter(|_| row.line.place == "yard");
        let held = marks.of(Some(row.line.horse_id), yard, day);
        if held.is_empty() {
            if carries.contains(&row.line.vet_id) && row.line.state == State::Booked {
                row.open.push("after a marked stop: clean and disinfect first".into());
            }
        } else {
            // What holds for the whole yard is said once a stop.
            let said = held.iter().filter(|mark| !row.goes_on || mark.horse_id.is_some());
            let words: Vec<String> = said.map(|mark| mark.words()).collect();
            if !words.is_empty() {
                row.open.push(format!("{}: last on the round", words.join(", ")));
            }
            carries.insert(row.line.vet_id);
        }
    }
}

/// Says who is to be rung back or told.
pub(super) fn owed(rows: &mut [Row], to_tell: &[ToTell]) {
    for row in rows {
        for one in to_tell.iter().filter(|one| one.visit_id == row.line.id) {
            let ring = one.kind == "ring_back";
            row.open.push(if ring { "ring back for a time" } else { "not told of its new time yet" }.into());
        }
    }
}
