//! What a course says on the calendar: rows of the whole programme, and months of days.

use jiff::civil::{Date, Weekday};

use crate::{
    catalogue::catalogue,
    clock::Day,
    reasoning::programme::{Course, Step, Stretch},
};

/// One stretch in words.
pub(super) struct Row {
    pub from: Day,
    pub last: Day,
    pub days: i64,
    pub words: String,
    pub minutes: String,
    /// What is to be seen before it, where nobody has decided.
    pub gate: String,
    pub now: bool,
}

pub(super) fn rows(course: &Course, steps: &[Step], today: Day) -> Vec<Row> {
    let now = course.going_on(today.0);
    let row = |(at, stretch): (usize, &Stretch)| {
        let step = steps.get(stretch.step)?;
        Some(Row {
            from: Day(stretch.from),
            last: Day(stretch.last()),
            days: stretch.days(),
            words: step.words.clone(),
            minutes: step.minutes(),
            gate: if stretch.waits { gate_words(step) } else { String::new() },
            now: at == now,
        })
    };
    course.stretches.iter().enumerate().filter_map(row).collect()
}

/// "ultrasound and soundness"
pub(super) fn gate_words(step: &Step) -> String {
    let names = step.gates.iter().map(|kind| {
        catalogue().programmes.gates.get(kind.code()).map_or(kind.code(), |row| row.name.as_str())
    });
    names.collect::<Vec<_>>().join(" and ")
}

/// A month with its weeks from Monday to Sunday.
pub(super) struct Month {
    pub title: String,
    pub weeks: Vec<[Option<Cell>; 7]>,
}

#[derive(Clone)]
pub(super) struct Cell {
    pub number: i8,
    /// "40+5": minutes of walk, trot and canter; empty for rest.
    pub words: String,
    pub gate: bool,
    pub today: bool,
}

pub(super) fn months(course: &Course, steps: &[Step], today: Day) -> Vec<Month> {
    let mut months: Vec<Month> = Vec::new();
    let mut seen: Option<Date> = None;
    for (date, stretch) in course.days() {
        let Some(step) = steps.get(stretch.step) else { continue };
        let title = date.strftime("%B %Y").to_string();
        if seen.is_none_or(|before| before.first_of_month() != date.first_of_month()) {
            months.push(Month { title, weeks: Vec::new() });
        }
        let Some(month) = months.last_mut() else { continue };
        if month.weeks.is_empty() || date.weekday() == Weekday::Monday {
            month.weeks.push([const { None }; 7]);
        }
        let place = usize::try_from(date.weekday().to_monday_zero_offset()).unwrap_or_default();
        if let Some(cell) = month.weeks.last_mut().and_then(|week| week.get_mut(place)) {
            *cell = Some(Cell {
                number: date.day(),
                words: short(step),
                gate: stretch.waits && stretch.from == date,
                today: date == today.0,
            });
        }
        seen = Some(date);
    }
    months
}

fn short(step: &Step) -> String {
    let minutes = [step.walk_min, step.trot_min, step.canter_min];
    let last = minutes.iter().rposition(|one| *one > 0).map_or(0, |at| at + 1);
    minutes[..last].iter().map(u16::to_string).collect::<Vec<_>>().join("+")
}
