//! The days of a programme: civil dates in and out, so that neither a change of clocks nor a leap day moves a step.
//!
//! A course is stretches of days, each of one step, without a gap between them. A gate stands before a step's first
//! day; while nobody has decided it, the step before goes on. What happened since the start is told as events in the
//! order it was decided.

use jiff::{Span, civil::Date};
use serde::{Deserialize, Serialize};

use super::Refused;
use crate::catalogue::programmes::{GateKind, Programme};

/// The longest programme that is reckoned with, all stops included.
const MOST_DAYS: i64 = 3_660;

/// So many days of the same exercise, with what has to be seen before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    pub days: u16,
    pub walk_min: u16,
    pub trot_min: u16,
    pub canter_min: u16,
    pub words: String,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub gates: Vec<GateKind>,
}

impl Step {
    /// The steps of a shipped programme.
    pub fn of(programme: &Programme) -> Vec<Step> {
        let step = |row: &crate::catalogue::programmes::ProgrammeStep| Step {
            days: row.days,
            walk_min: row.walk_min,
            trot_min: row.trot_min,
            canter_min: row.canter_min,
            words: row.words.clone(),
            gates: row.gates.clone(),
        };
        programme.steps.iter().map(step).collect()
    }

    /// "walk 40 min, trot 5 min"; empty where no minutes are told.
    pub fn minutes(&self) -> String {
        let parts = [("walk", self.walk_min), ("trot", self.trot_min), ("canter", self.canter_min)];
        let told = parts.into_iter().filter(|(_, minutes)| *minutes > 0);
        told.map(|(gait, minutes)| format!("{gait} {minutes} min")).collect::<Vec<_>>().join(", ")
    }
}

/// What was decided on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Event {
    /// The gate before the next step was passed.
    Passed { on: Date },
    /// The step that goes on lasts so many days longer, and so does everything after it.
    Hold { on: Date, days: i64 },
    /// So many steps back from this day, then everything from there again, gates included.
    Back { on: Date, steps: usize },
}

impl Event {
    fn on(self) -> Date {
        match self {
            Event::Passed { on } | Event::Hold { on, .. } | Event::Back { on, .. } => on,
        }
    }
}

/// Days of one step, from `from` to the day before `to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    pub step: usize,
    pub from: Date,
    pub to: Date,
    /// A gate stands before it that nobody has decided.
    pub waits: bool,
}

impl Stretch {
    /// Its last day.
    pub fn last(&self) -> Date {
        plus(self.to, -1)
    }

    pub fn days(&self) -> i64 {
        between(self.from, self.to)
    }

    fn holds(&self, day: Date) -> bool {
        self.from <= day && day < self.to
    }
}

/// A programme on the calendar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    pub stretches: Vec<Stretch>,
}

impl Course {
    /// # Errors
    /// A programme without steps, a step without days, an event before the start or one that does not fit.
    pub fn new(start: Date, steps: &[Step], events: &[Event]) -> Result<Self, Refused> {
        if steps.is_empty() {
            return Err(Refused::new("steps", "must not be empty"));
        }
        if let Some(at) = steps.iter().position(|step| step.days == 0) {
            return Err(Refused::new(format!("steps[{at}].days"), "must be more than 0"));
        }
        let mut course = Course { stretches: Vec::new() };
        course.lay(start, 0, steps);
        for (at, event) in events.iter().enumerate() {
            let name = format!("gates[{at}]");
            if event.on() < start {
                return Err(Refused::new(name, format!("lies before the start, {start}")));
            }
            course.take(*event, steps).map_err(|what| Refused::new(name.clone(), what))?;
            if course.stretches.last().is_some_and(|last| between(start, last.to) > MOST_DAYS) {
                return Err(Refused::new(name, "makes the programme longer than ten years"));
            }
        }
        Ok(course)
    }

    /// Puts the steps from `first` on behind each other. Whoever is sent back to a step has passed its gate before.
    fn lay(&mut self, mut from: Date, first: usize, steps: &[Step]) {
        for (step, row) in steps.iter().enumerate().skip(first) {
            let to = plus(from, i64::from(row.days));
            self.stretches.push(Stretch { step, from, to, waits: step > first && !row.gates.is_empty() });
            from = to;
        }
    }

    fn take(&mut self, event: Event, steps: &[Step]) -> Result<(), &'static str> {
        self.wait_until(event.on());
        match event {
            Event::Passed { .. } => {
                let gate = self.next_gate().ok_or("finds no gate that is still to be decided")?;
                self.stretches[gate].waits = false;
            }
            Event::Hold { days, .. } if days < 0 => return Err("must not hold for less than 0 days"),
            Event::Hold { on, days } => {
                let now = self.going_on(on);
                self.stretches[now].to = plus(self.stretches[now].to, days);
                self.shift(now + 1, days);
            }
            Event::Back { on, steps: back } => {
                let now = self.going_on(on);
                let first = self.stretches[now].step.saturating_sub(back);
                self.stretches[now].to = on;
                self.stretches.truncate(now + 1);
                self.stretches.retain(|stretch| stretch.days() > 0);
                self.lay(on, first, steps);
            }
        }
        Ok(())
    }

    /// The first gate that nobody has decided, as the place of the stretch behind it.
    pub fn next_gate(&self) -> Option<usize> {
        self.stretches.iter().position(|stretch| stretch.waits)
    }

    /// The stretch that goes on: a step whose gate is not decided has not begun.
    pub fn going_on(&self, day: Date) -> usize {
        let at = self.stretches.iter().position(|stretch| stretch.holds(day));
        let before = self.stretches.first().is_some_and(|first| day < first.from);
        let at = at.unwrap_or(if before { 0 } else { self.stretches.len().saturating_sub(1) });
        self.next_gate().map_or(at, |gate| at.min(gate.saturating_sub(1)))
    }

    /// The same course when nothing more was decided up to `day`: a gate that is overdue moves on to that day.
    pub fn wait_until(&mut self, day: Date) {
        let Some(gate) = self.next_gate() else { return };
        let late = between(self.stretches[gate].from, day);
        if late > 0 && gate > 0 {
            self.stretches[gate - 1].to = day;
            self.shift(gate, late);
        }
    }

    fn shift(&mut self, from: usize, days: i64) {
        for stretch in self.stretches.iter_mut().skip(from) {
            stretch.from = plus(stretch.from, days);
            stretch.to = plus(stretch.to, days);
        }
    }

    /// The first day of the last step.
    pub fn full_work(&self) -> Option<Date> {
        self.stretches.last().map(|last| last.from)
    }

    /// The last day of all.
    pub fn end(&self) -> Option<Date> {
        self.stretches.last().map(Stretch::last)
    }

    /// Every day with its stretch, in order.
    pub fn days(&self) -> impl Iterator<Item = (Date, &Stretch)> {
        self.stretches
            .iter()
            .flat_map(|stretch| (0..stretch.days()).map(move |n| (plus(stretch.from, n), stretch)))
    }
}

fn plus(day: Date, days: i64) -> Date {
    day.saturating_add(Span::new().days(days))
}

fn between(from: Date, to: Date) -> i64 {
    from.until(to).map_or(0, |span| i64::from(span.get_days()))
}
