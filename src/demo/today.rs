//! The day of filling (`data/today.toml`): eight visits in the hours of work, in the states that suit the hour of
//! filling. At night before the day all of them are booked, at night after it all of them have been seen.

use anyhow::Context;
use serde::Deserialize;

use super::{
    calendar::{CLOSES, OPENS, Slot},
    course::Courses,
    horses::Horse,
    plan::{Planned, index_of},
};
use crate::{
    clock::{At, Day},
    visits::State,
};

/// A horse that has arrived waits no longer than this.
const WAITS: i64 = 30;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Row {
    /// Days before the day of filling; 0 is the day itself.
    #[serde(default)]
    pub ago: i64,
    pub vet: usize,
    pub horse: String,
    pub course: String,
    pub step: usize,
    /// In the middle of the day.
    pub state: String,
    #[serde(default)]
    pub urgent: bool,
    pub minutes: i64,
    #[serde(default)]
    pub clock: i64,
    #[serde(default)]
    pub from_now: i64,
    pub handed_to: Option<usize>,
    #[serde(default)]
    pub words: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    visit: Vec<Row>,
}

pub(super) struct Today {
    rows: Vec<Row>,
    /// The minute of the day at which it is filled.
    now: i64,
}

impl Today {
    pub(super) fn read(now: At, zone: &jiff::tz::TimeZone) -> anyhow::Result<Self> {
        let rows: Rows =
            toml::from_str(include_str!("data/today.toml")).context("today.toml cannot be read")?;
        Ok(Today { rows: rows.visit, now: now.minute_of_day(zone) })
    }

    pub(super) fn has(&self, horse: &str, course: &str, step: usize) -> bool {
        self.rows.iter().any(|r| r.horse == horse && r.course == course && r.step == step)
    }

    pub(super) fn expects(&self, horse: &str) -> bool {
        self.rows.iter().any(|r| r.horse == horse)
    }

    /// Visits of the days before that nobody has signed.
    pub(super) fn left_open(&self) -> impl Iterator<Item = &Row> {
        self.rows.iter().filter(|r| r.ago > 0)
    }

    /// The eight, each vet's one after the other, inside the hours of work whatever the hour.
    pub(super) fn eight(
        &self,
        horses: &[Horse],
        courses: &Courses,
        today: Day,
    ) -> anyhow::Result<Vec<Planned>> {
        let mut planned = Vec::new();
        for vet in 0..self.rows.len() {
            let rows: Vec<&Row> = self.rows.iter().filter(|r| r.ago == 0 && r.vet == vet).collect();
            for (row, minute) in rows.iter().zip(self.starts(&rows)) {
                let visit = row.planned(horses, courses, Slot { vet, day: today, minute })?;
                planned.push(Planned { state: self.state_by_now(row, minute, visit.state), ..visit });
            }
        }
        Ok(planned)
    }

    /// When each of one vet's visits begins: as wished, but not before the one before it has ended, and early
    /// enough that the rest of them still fits into the day's work.
    fn starts(&self, rows: &[&Row]) -> Vec<i64> {
        let mut rest: i64 = rows.iter().map(|r| r.minutes).sum();
        let mut free = OPENS;
        rows.iter()
            .map(|row| {
                let latest = CLOSES - rest;
                rest -= row.minutes;
                let start = (self.wish(row) / 5 * 5).clamp(free, latest.max(free));
                free = start + row.minutes;
                start
            })
            .collect()
    }

    /// What is done lies behind, what is at hand is now, and what is booked lies ahead, as far as there is work now.
    fn wish(&self, row: &Row) -> i64 {
        let by_now = self.now.clamp(OPENS, CLOSES) + row.from_now;
        match row.state.as_str() {
            "signed" => by_now.min(row.clock),
            "booked" => by_now.max(row.clock),
            _ => by_now,
        }
    }

    /// How far a visit that begins at this minute has come by now.
    fn state_by_now(&self, row: &Row, start: i64, at_noon: State) -> State {
        if start + row.minutes <= self.now {
            // What is in hand at noon is the one whose paper is left for the evening.
            return if at_noon == State::InHand { State::ToSign } else { State::Signed };
        }
        match at_noon {
            _ if start <= self.now => State::InHand,
            State::Arrived if start - self.now <= WAITS => State::Arrived,
            _ => State::Booked,
        }
    }
}

impl Row {
    pub(super) fn planned(&self, horses: &[Horse], courses: &Courses, slot: Slot) -> anyhow::Result<Planned> {
        let steps = &courses.get(&self.course)?.step;
        let step = steps.get(self.step).with_context(|| format!("{} has no such step", self.course))?.clone();
        let state = match self.state.as_str() {
            "booked" => State::Booked,
            "arrived" => State::Arrived,
            "in_hand" => State::InHand,
            "to_sign" => State::ToSign,
            "signed" => State::Signed,
            other => anyhow::bail!("`{other}` is no state of a day"),
        };
        let horse = index_of(horses, &self.horse)?;
        let handed_to = self.handed_to.map(|vet| (vet, self.words.clone()));
        Ok(Planned { slot, horse, step, minutes: self.minutes, urgent: self.urgent, state, handed_to })
    }
}
