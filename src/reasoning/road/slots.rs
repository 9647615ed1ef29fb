//! Where a visit fits into the days of the vets, and what it costs in driving.
//!
//! What is booked stays where it stands: a visit goes into a gap between two stops, or between a stop and the ends of
//! the day. Every gap is offered once in the morning and once in the afternoon, at the first time that fits; beside a
//! horse of the same yard it is put next to that horse. What others have to be kept safe from comes after them, and they
//! come before it.

use super::{Leg, Place, Roads};
use crate::clock::{At, Day};

/// Where morning and afternoon part, in hours of the wall clock.
const MIDDAY: i8 = 13;

/// Beside a horse of the same yard a visit begins at any such minute.
const SMALLEST_MIN: i64 = 5;

/// Something that is booked.
#[derive(Clone, Debug)]
pub struct Stop {
    pub place: Place,
    /// The horse, for the reason.
    pub who: String,
    pub from: At,
    pub until: At,
    /// Infectious, suspected or isolated: the others come before it.
    pub last: bool,
}

/// One vet's one day.
#[derive(Clone, Debug)]
pub struct Shift {
    /// Which vet, by the caller's own count.
    pub vet: usize,
    pub day: Day,
    pub from: At,
    pub until: At,
    /// Where the day begins and ends.
    pub base: Place,
    /// A day in the clinic: nobody drives out.
    pub clinic: bool,
    /// Codes of what the vehicle carries.
    pub equipment: Vec<String>,
    /// By time.
    pub stops: Vec<Stop>,
}

/// What is to be fitted in.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    pub place: &'a Place,
    pub in_clinic: bool,
    pub minutes: i64,
    /// Codes of equipment it cannot do without.
    pub needs: &'a [String],
    /// Not before this instant.
    pub now: At,
    /// Minutes of driving that one day sooner is worth.
    pub wait_min: i64,
    /// Days on which the others have to come before it.
    pub last_on: &'a [Day],
}

/// What lies before or after a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    pub place: Place,
    /// None at the ends of the day.
    pub who: Option<String>,
    pub leg: Leg,
}

/// A time that fits.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    pub vet: usize,
    pub day: Day,
    pub from: At,
    pub until: At,
    /// Driving that the day has more of with it.
    pub adds_min: i64,
    pub before: Beside,
    pub after: Beside,
    /// What it is ranked by: driving added, and waiting as so much driving.
    pub cost: i64,
}

/// The best `most` starts, cheapest first, then soonest. `midday` says when a day's afternoon begins.
pub fn starts(
    roads: &Roads,
    shifts: &[Shift],
    asked: &Asked<'_>,
    midday: impl Fn(Day, i8) -> At,
    most: usize,
) -> Vec<Start> {
    let mut found = Vec::new();
    let first_day = shifts.iter().map(|shift| shift.day).min();
    for shift in shifts.iter().filter(|shift| shift.takes(asked)) {
        let waits = first_day.map_or(0, |first| first.days_until(shift.day)) * asked.wait_min;
        let noon = midday(shift.day, MIDDAY);
        for gap in 0..=shift.stops.len() {
            let Some(gap) = Gap::of(roads, shift, asked, gap) else { continue };
            found.extend(gap.times(roads, noon).into_iter().map(|from| gap.start(shift, asked, from, waits)));
        }
    }
    found.sort_by_key(|start| (start.cost, start.from, start.vet));
    found.truncate(most);
    found
}

impl Shift {
    /// Whether a vet can do it at all on that day.
    fn takes(&self, asked: &Asked<'_>) -> bool {
        let equipped = asked.in_clinic || asked.needs.iter().all(|need| self.equipment.contains(need));
        equipped && (asked.in_clinic || !self.clinic)
    }

    /// The end of the day before the first stop or after the last one, or a stop.
    fn beside(&self, roads: &Roads, asked: &Place, stop: Option<&Stop>) -> Beside {
        let place = stop.map_or(&self.base, |stop| &stop.place);
        let who = stop.map(|stop| stop.who.clone());
        Beside { place: place.clone(), who, leg: roads.leg(place, asked) }
    }
}

/// The room between two stops that a visit fits into.
struct Gap {
    /// The first and the last instant at which it can begin.
    first: At,
    last: At,
    before: Beside,
    after: Beside,
    adds_min: i64,
}

impl Gap {
    fn of(roads: &Roads, shift: &Shift, asked: &Asked<'_>, at: usize) -> Option<Gap> {
        let (done, ahead) = shift.stops.split_at(at);
        let carries_on = if asked.last_on.contains(&shift.day) {
            ahead.iter().any(|stop| !stop.last)
        } else {
            done.iter().any(|stop| stop.last)
        };
        if carries_on {
            return None;
        }
        let (earlier, later) = (done.last(), ahead.first());
        let before = shift.beside(roads, asked.place, earlier);
        let after = shift.beside(roads, asked.place, later);
        let free = earlier.map_or(shift.from, |stop| stop.until.max(shift.from)).max(asked.now);
        let first = free.plus_minutes(roads.change(&before.place, asked.place));
        // Home again within the hours: there is nothing to set up at the end.
        let last = match later {
            Some(stop) => stop.from.plus_minutes(-roads.change(asked.place, &stop.place)),
            None => shift.until.plus_minutes(-after.leg.minutes),
        };
        let last = last.plus_minutes(-asked.minutes);
        let adds_min =
            before.leg.minutes + after.leg.minutes - roads.leg(&before.place, &after.place).minutes;
        (first <= last).then_some(Gap { first, last, before, after, adds_min })
    }

    /// The times of it that are offered.
    fn times(&self, roads: &Roads, noon: At) -> Vec<At> {
        let grid = roads.rules.grid_min;
        let beside = |neighbour: &Beside| neighbour.who.is_some() && neighbour.leg.minutes == 0;
        let mut times = Vec::new();
        if beside(&self.before) {
            times.push(on_grid(self.first, SMALLEST_MIN));
        } else if beside(&self.after) {
            times.push(self.last);
        } else {
            let first = on_grid(self.first, grid);
            times.push(first);
            if first < noon && self.last >= noon {
                times.push(on_grid(noon, grid));
            }
        }
        times.retain(|at| *at <= self.last);
        times
    }

    fn start(&self, shift: &Shift, asked: &Asked<'_>, from: At, waits: i64) -> Start {
        Start {
            vet: shift.vet,
            day: shift.day,
            from,
            until: from.plus_minutes(asked.minutes),
            adds_min: self.adds_min,
            before: self.before.clone(),
            after: self.after.clone(),
            cost: self.adds_min + waits,
        }
    }
}

/// The next time on the grid; every zone lies a whole number of quarters of an hour from UTC.
fn on_grid(at: At, grid_min: i64) -> At {
    let step = grid_min * 60_000;
    At(at.0 + (-at.0).rem_euclid(step))
}

impl Start {
    /// Why this one, in words.
    pub fn why(&self) -> String {
        let here = |beside: &Beside| beside.leg.minutes == 0 && beside.who.is_some();
        if let Some(who) =
            [&self.before, &self.after].into_iter().find(|b| here(b)).and_then(|b| b.who.as_ref())
        {
            return format!("same yard as {who}: {}", added(self.adds_min));
        }
        let from = match &self.before.who {
            Some(_) => format!("{} from {}", drive(&self.before.leg), self.before.place.name),
            None => format!("first stop, {} from {}", drive(&self.before.leg), self.before.place.name),
        };
        let on = match &self.after.who {
            Some(_) => format!("then {} on to {}", drive(&self.after.leg), self.after.place.name),
            None => format!("then {} back", drive(&self.after.leg)),
        };
        format!("{from}, {on}: {}", added(self.adds_min))
    }
}

fn drive(leg: &Leg) -> String {
    let how = match (leg.learned, leg.km) {
        (true, _) => " as driven before",
        (false, Some(_)) => "",
        (false, None) => " (a guess: no position is known)",
    };
    format!("{} min{how}", leg.minutes)
}

fn added(minutes: i64) -> String {
    match minutes {
        ..0 => format!("{} min less driving", -minutes),
        0 => "no driving more".to_owned(),
        _ => format!("{minutes} min more driving"),
    }
}
