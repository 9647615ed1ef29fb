//! The days of a programme for the way back to work.

use serde::{Deserialize, Serialize};

use crate::{
    catalogue::{catalogue, programmes::GateKind},
    clock::Day,
    reasoning::{
        Refused,
        programme::{Course, Event, Step},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    template: String,
    start: Day,
    #[serde(default)]
    gates: Vec<Decision>,
}

/// A gate that was passed or not, or a horse that goes slower without one.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Decision {
    on: Day,
    passed: bool,
    #[serde(default)]
    hold_days: u16,
    #[serde(default)]
    back_steps: u16,
}

#[derive(Serialize)]
pub(super) struct Output {
    days: Vec<DayOut>,
    full_work: Option<Day>,
}

#[derive(Serialize)]
struct DayOut {
    date: Day,
    phase: String,
    minutes_walk: u16,
    minutes_trot: u16,
    minutes_canter: u16,
    /// What is to be decided on this day, and was not yet.
    gates: Vec<GateKind>,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let shipped = &catalogue().programmes.programmes;
    let unknown = || {
        let codes: Vec<&str> = shipped.iter().map(|row| row.code.as_str()).collect();
        Refused::new("template", format!("must be one of {}, not {}", codes.join(", "), input.template))
    };
    let steps = Step::of(shipped.get(&input.template).ok_or_else(unknown)?);
    let mut events = Vec::new();
    for (at, gate) in input.gates.iter().enumerate() {
        if gate.passed && (gate.hold_days > 0 || gate.back_steps > 0) {
            return Err(Refused::new(format!("gates[{at}]"), "is passed, and neither holds nor goes back"));
        }
        events.push(gate.event());
    }
    let course = Course::new(input.start.0, &steps, &events)?;
    let days = course.days().map(|(date, stretch)| {
        let step = &steps[stretch.step];
        let due = stretch.waits && stretch.from == date;
        DayOut {
            date: Day(date),
            phase: step.words.clone(),
            minutes_walk: step.walk_min,
            minutes_trot: step.trot_min,
            minutes_canter: step.canter_min,
            gates: if due { step.gates.clone() } else { Vec::new() },
        }
    });
    Ok(Output { days: days.collect(), full_work: course.full_work().map(Day) })
}

impl Decision {
    fn event(&self) -> Event {
        match self {
            Decision { passed: true, on, .. } => Event::Passed { on: on.0 },
            Decision { back_steps: 0, on, hold_days, .. } => {
                Event::Hold { on: on.0, days: i64::from(*hold_days) }
            }
            Decision { on, back_steps, .. } => Event::Back { on: on.0, steps: usize::from(*back_steps) },
        }
    }
}

pub(super) fn help() -> String {
    let all = &catalogue().programmes;
    let row = |row: &crate::catalogue::programmes::Programme| {
        format!("  {:<14} {} ({}; {})", row.code, row.name, row.source, row.confidence.words())
    };
    let regress = |row: &crate::catalogue::programmes::Regress| {
        format!(
            "  {:<9} {} back, {} days longer ({}; {})",
            row.code,
            row.back_steps,
            row.hold_days,
            row.source,
            row.confidence.words()
        )
    };
    format!(
        "In:\n  template  one of the programmes below\n  start     first day, YYYY-MM-DD\n  gates     what was decided, in \
         order; without it every gate is taken to be passed on its day\n    on          the day\n    passed      true: the \
         next gate was passed; a later day moves the rest\n    hold_days   not passed: so many days longer at the same \
         step\n    back_steps  not passed: so many steps back, and everything from there again\n\n\
         Out:\n  days       each day: date, phase, minutes_walk, minutes_trot, minutes_canter, and gates that are due on \
         it and not decided\n  full_work  first day of the last step\n\n\
         Programmes:\n{}\n\nProposed when a horse is to go slower:\n{}\n\n\
         A programme is a plan, and the veterinarian decides.",
        all.programmes.iter().map(row).collect::<Vec<_>>().join("\n"),
        all.regress.iter().map(regress).collect::<Vec<_>>().join("\n"),
    )
}
