//! Everything that the pages of a programme rest on.

use std::collections::HashMap;

use jiff::tz::TimeZone;

use super::{
    calendar,
    store::{self, Kept},
};
use crate::{
    App, accounts,
    catalogue::catalogue,
    clock::Day,
    horses::{self, Card},
    ids::{EntryId, ProgrammeId, StaffId},
    practice,
    reasoning::programme::{Course, Event, Step},
    record::{
        self, Entry,
        exercise::{Exercise, Prescribed, Told},
    },
    web::{Error, Result},
};

/// A programme as its entries tell it.
pub(super) struct Way {
    pub prescribed: Prescribed,
    /// As it stands today, a gate that is overdue moved on to today.
    pub course: Course,
    /// Decisions that do not fit since an earlier one was taken back.
    pub misfits: Vec<EntryId>,
}

impl Way {
    /// `None` where no standing entry prescribes it.
    pub(super) fn read<'a>(
        entries: impl Iterator<Item = (EntryId, &'a Exercise)>,
        today: Day,
    ) -> Option<Self> {
        let (mut prescribed, mut events, mut misfits) = (None::<&Prescribed>, Vec::new(), Vec::new());
        for (id, exercise) in entries {
            if let Exercise::Start(one) = exercise {
                prescribed = Some(one);
            }
            let (Some(one), Some(event)) = (prescribed, event(exercise)) else { continue };
            events.push(event);
            if Course::new(one.start.0, &one.steps, &events).is_err() {
                events.pop();
                misfits.push(id);
            }
        }
        let prescribed = prescribed?.clone();
        let mut course = Course::new(prescribed.start.0, &prescribed.steps, &events).ok()?;
        course.wait_until(today.0);
        Some(Way { prescribed, course, misfits })
    }

    /// The step whose gate is the next to be decided, and the day it is due.
    pub(super) fn gate(&self) -> Option<(&Step, Day)> {
        let stretch = self.course.stretches.get(self.course.next_gate()?)?;
        Some((self.prescribed.steps.get(stretch.step)?, Day(stretch.from)))
    }

    /// The step that goes on today; none before the first day and after the last.
    pub(super) fn today(&self, today: Day) -> Option<&Step> {
        if today < self.prescribed.start || self.course.end().is_none_or(|end| end < today.0) {
            return None;
        }
        let stretch = self.course.stretches.get(self.course.going_on(today.0))?;
        self.prescribed.steps.get(stretch.step)
    }

    /// What is done today, in words.
    pub(super) fn today_words(&self, today: Day) -> String {
        match self.today(today) {
            Some(step) if step.minutes().is_empty() => step.words.clone(),
            Some(step) => format!("{}: {}", step.words, step.minutes()),
            None if today < self.prescribed.start => format!("begins on {}", self.prescribed.start.words()),
            None => "the last day has passed".to_owned(),
        }
    }

    /// "Return to work: ultrasound and soundness before walk and trot"
    pub(super) fn gate_words(step: &Step) -> String {
        format!("Return to work: {} before {}", calendar::gate_words(step), step.words)
    }
}

fn event(exercise: &Exercise) -> Option<Event> {
    let slower = |on: Day, hold: u16, back: u16| match (hold, back) {
        (0, 0) => None,
        (hold, 0) => Some(Event::Hold { on: on.0, days: i64::from(hold) }),
        (_, back) => Some(Event::Back { on: on.0, steps: usize::from(back) }),
    };
    match exercise {
        Exercise::Gate(one) if one.passed => Some(Event::Passed { on: one.on.0 }),
        Exercise::Gate(one) => slower(one.on, one.hold_days, one.back_steps),
        Exercise::Change(one) => slower(one.on, one.hold_days, one.back_steps),
        Exercise::Start(_) | Exercise::Told(_) | Exercise::End(_) => None,
    }
}

pub(super) fn exercise_of(entry: &Entry) -> Option<&Exercise> {
    entry.body.as_ref()?.exercise.as_ref()
}

/// Signs that the yard told and that nobody has decided on.
pub(super) fn open_signs(standing: &[Entry]) -> Vec<&Entry> {
    let answered =
        |id: EntryId| standing.iter().filter_map(|e| e.body.as_ref()).any(|body| body.about == Some(id));
    let told = |entry: &&Entry| matches!(exercise_of(entry), Some(Exercise::Told(Told { signs, .. })) if !signs.is_empty());
    standing.iter().filter(told).filter(|entry| !answered(entry.id)).collect()
}

/// What the rules propose for these signs: days longer and steps back, the most of each.
pub(super) fn proposal(signs: &[String]) -> (u16, u16) {
    let rows = signs.iter().filter_map(|code| catalogue().programmes.regress.get(code));
    rows.fold((0, 0), |(hold, back), row| (row.hold_days.max(hold), row.back_steps.max(back)))
}

pub(super) struct Scene {
    pub kept: Kept,
    pub card: Card,
    pub today: Day,
    pub zone: TimeZone,
    /// What stands, and what was taken back.
    pub standing: Vec<Entry>,
    pub gone: Vec<Entry>,
    pub way: Way,
    names: HashMap<StaffId, String>,
}

impl Scene {
    pub(super) async fn load(app: &App, id: ProgrammeId) -> Result<Self> {
        let db = app.db.read();
        let kept = store::get(db, id).await?;
        let (standing, gone) = record::results_of_programme(db, id).await?;
        let zone = practice::store::get(db).await?.zone;
        let today = app.clock.now().day(&zone);
        let told = standing.iter().filter_map(|entry| Some((entry.id, exercise_of(entry)?)));
        let way = Way::read(told, today).ok_or(Error::NotFound)?;
        Ok(Scene {
            card: horses::store::card(db, kept.horse_id).await?,
            names: accounts::store::all(db).await?.into_iter().map(|s| (s.id, s.name)).collect(),
            kept,
            today,
            zone,
            standing,
            gone: gone.into_iter().filter(|entry| exercise_of(entry).is_some()).collect(),
            way,
        })
    }

    /// The way as it is with one more entry, or without one.
    pub(super) fn way_with(&self, more: Option<&Exercise>, without: Option<EntryId>) -> Option<Way> {
        let kept = self.standing.iter().filter(|entry| Some(entry.id) != without);
        let kept = kept.filter_map(|entry| Some((entry.id, exercise_of(entry)?)));
        Way::read(kept.chain(more.map(|one| (EntryId::new(), one))), self.today)
    }

    pub(super) fn open_signs(&self) -> Vec<&Entry> {
        open_signs(&self.standing)
    }

    pub(super) fn standing(&self, id: EntryId) -> Option<&Entry> {
        self.standing.iter().find(|entry| entry.id == id)
    }

    /// "Vala Test, 12 Mar 2026, 09:00"
    pub(super) fn by(&self, entry: &Entry) -> String {
        let name = self.names.get(&entry.seen_by).map_or("somebody", String::as_str);
        format!("{name}, {}", entry.seen().words(&self.zone))
    }

    pub(super) fn at(&self) -> String {
        format!("/programmes/{}", self.kept.id)
    }
}
