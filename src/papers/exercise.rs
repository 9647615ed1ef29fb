//! An entry of a programme in words.

use crate::{
    catalogue::catalogue,
    clock::Day,
    reasoning::programme::Course,
    record::{
        Body,
        exercise::{Exercise, Prescribed, Told},
    },
};

/// What the entry says; why it was decided stands in its text.
pub fn words(exercise: &Exercise, body: &Body) -> String {
    let text = body.text.as_deref().unwrap_or_default();
    match exercise {
        Exercise::Start(one) => prescribed(one),
        Exercise::Gate(one) if one.passed => format!("gate passed on {}", one.on.words()),
        Exercise::Gate(one) => {
            format!("gate not passed on {}: {}", one.on.words(), slower(one.hold_days, one.back_steps))
        }
        Exercise::Change(one) => {
            format!("decided on {}: {}", one.on.words(), slower(one.hold_days, one.back_steps))
        }
        Exercise::Told(one) => {
            let by = body.held_by.as_deref().unwrap_or("the yard");
            let all = [format!("{by} on {}", one.on.words()), done(one), signs(one), text.to_owned()];
            all.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
        }
        Exercise::End(one) => format!("the programme ended on {}", one.on.words()),
    }
}

/// "Return to work: the programme's name, from 12 Mar 2026; full work about 4 Feb 2027"
pub fn prescribed(one: &Prescribed) -> String {
    let course = Course::new(one.start.0, &one.steps, &[]).ok();
    let full = course.and_then(|course| course.full_work());
    let full =
        full.map_or(String::new(), |day| format!("; full work from {} at the earliest", Day(day).words()));
    format!("Return to work: {}, from {}{full}", one.name, one.start.words())
}

/// "two weeks" are days here: "7 days longer at the same step", "1 step back", "left as it is"
pub fn slower(hold_days: u16, back_steps: u16) -> String {
    match (hold_days, back_steps) {
        (0, 0) => "left as it is".to_owned(),
        (1, 0) => "1 day longer at the same step".to_owned(),
        (days, 0) => format!("{days} days longer at the same step"),
        (_, 1) => "1 step back".to_owned(),
        (_, steps) => format!("{steps} steps back"),
    }
}

fn done(told: &Told) -> String {
    match told.done.as_str() {
        "all" => "all of it done",
        "less" => "less done",
        "more" => "more done",
        _ => "nothing done",
    }
    .to_owned()
}

/// "heat, swelling"; empty where none was told.
pub fn signs(told: &Told) -> String {
    let name = |code: &String| {
        catalogue().programmes.regress.get(code).map_or_else(|| code.clone(), |row| row.name.clone())
    };
    told.signs.iter().map(name).collect::<Vec<_>>().join(", ")
}
