//! Who can be with an emergency soonest, and where what stands in the way can go instead.

use super::{
    planner::{Planner, Wish, day_words, take},
    store::Booked,
    units::Unit,
};
use crate::{
    catalogue::{Urgency, catalogue},
    clock::{At, Day},
    ids::{StaffId, VisitId},
    reasoning::{
        road::{Asked, Duty, Reach, Shift, Stop, reach, starts},
        watch::Part,
    },
    rota::{OnCall, Person},
};

/// As many vets as an emergency names.
const NEAREST: usize = 3;
/// What is chosen where no time can be offered.
pub const RING_BACK: &str = "ring";

/// A vet for an emergency.
pub struct Near {
    pub vet: String,
    /// Empty where nobody has entered it.
    pub phone: String,
    pub words: String,
    pub moves: Vec<Shifted>,
    /// What the button sends; none where the place is not known, or somebody waits who cannot be moved.
    pub take: Option<String>,
}

/// A visit or a shared stop that is in the way.
pub struct Shifted {
    /// Its first visit.
    pub visit: VisitId,
    pub words: String,
    /// What can be chosen for it, the likeliest first: `vet@instant@stamp` with a new time, or `ring@..@stamp`.
    pub choices: Vec<(String, String)>,
}

impl Shifted {
    /// The name of its field.
    pub fn field(&self) -> String {
        format!("move-{}", self.visit)
    }
}

impl Planner<'_> {
    /// Outside the hours of work those on call come first; within them, those at work and on call.
    pub fn nearest(&self, wish: &Wish<'_>, on_call: &OnCall) -> Vec<Near> {
        let today = self.now.day(self.zone);
        let usual = (today.start(self.zone), today.plus_days(1).start(self.zone));
        let shifts: Vec<(Shift, bool)> = self
            .vets
            .iter()
            .enumerate()
            .map(|(at, vet)| {
                let hours = self.hours(vet.id, today);
                let on = hours.is_some_and(|(from, until)| from <= self.now && self.now < until);
                (self.shift(at, today, hours.unwrap_or(usual), &[]), on)
            })
            .collect();
        let duties: Vec<Duty<'_>> = shifts
            .iter()
            .map(|(shift, on_duty)| {
                let turn = turn(*on_duty, self.vets[shift.vet].id, on_call);
                Duty { vet: shift.vet, shift, on_duty: *on_duty, turn }
            })
            .collect();
        let found = reach(&self.roads, &duties, wish.place.as_ref(), wish.whole(), self.now);
        found.iter().take(NEAREST).map(|one| self.near(one, wish, on_call)).collect()
    }

    fn near(&self, one: &Reach<'_>, wish: &Wish<'_>, on_call: &OnCall) -> Near {
        let (vet, today) = (&self.vets[one.vet], self.now.day(self.zone));
        let there = one.there.hm(self.zone);
        let busy = match one.busy {
            Some(stop) => format!("with {} until {}", stop.who, stop.until.hm(self.zone)),
            None => "free".to_owned(),
        };
        let is = |person: &Option<Person>| person.as_ref().filter(|p| p.id == vet.id).cloned();
        let (first, backup) = (is(&on_call.first), is(&on_call.backup));
        let duty = match (&first, &backup, one.on_duty) {
            (Some(_), ..) => "on call; ",
            (_, Some(_), _) => "backup; ",
            (_, _, true) => "",
            _ => "off duty; ",
        };
        let carries =
            if one.carries_on { "; comes from a marked yard, so change and disinfect first" } else { "" };
        let words = match one.drive_min {
            Some(drive) => {
                format!("{duty}{busy}, {drive} min from {}: there by {there}{carries}", one.from.name)
            }
            None => format!("{duty}{busy} at {}; how far it is depends on the yard{carries}", one.from.name),
        };
        let all = self.units(vet.id, today);
        let in_way: Vec<&Unit<'_>> =
            all.iter().filter(|unit| one.moves.iter().any(|stop| stop.from == unit.from())).collect();
        let can = one.drive_min.is_some() && in_way.iter().all(|unit| unit.is_booked());
        let go = take(vet.id, one.there.day(self.zone), &there, wish.minutes);
        let clears = if in_way.is_empty() { "" } else { "@clear" };
        Near {
            vet: vet.name.clone(),
            phone: first.or(backup).map_or_else(String::new, |person| person.phone),
            words,
            moves: self.shifted(one, wish, &in_way),
            take: can.then(|| format!("{go}{clears}")),
        }
    }

    /// Where each of what is in the way can go, reckoned one after the other with the emergency booked.
    fn shifted(&self, one: &Reach<'_>, wish: &Wish<'_>, in_way: &[&Unit<'_>]) -> Vec<Shifted> {
        let today = self.now.day(self.zone);
        let (ahead, wait_min) = self.roads.rules.patience(Urgency::Days);
        let mut shifts = self.shifts(ahead, None, &[]);
        if let (Some(place), Some(shift)) =
            (&wish.place, shifts.iter_mut().find(|s| s.vet == one.vet && s.day == today))
        {
            shift.stops.retain(|stop| in_way.iter().all(|unit| unit.from() != stop.from));
            let until = one.there.plus_minutes(wish.whole());
            let last = wish.is_last(&self.marks, today);
            insert(
                shift,
                Stop { place: place.clone(), who: "the emergency".into(), from: one.there, until, last },
            );
        }
        in_way.iter().map(|unit| self.shift_one(unit, &mut shifts, (ahead, wait_min))).collect()
    }

    fn shift_one(&self, unit: &Unit<'_>, shifts: &mut [Shift], (ahead, wait_min): (i64, i64)) -> Shifted {
        let (first, today) = (unit.first(), self.now.day(self.zone));
        let mut choices = Vec::new();
        let last = |day: &Day| {
            let of = |one: &&Booked| self.marks.cover(Some(one.horse_id), one.yard_id, *day);
            unit.visits().iter().any(of)
        };
        let last_on: Vec<Day> = (0..ahead).map(|n| today.plus_days(n)).filter(last).collect();
        let needs = catalogue().road.kinds.get(&first.kind).map_or(&[][..], |kind| &kind.needs);
        let place = self.place_of(first);
        let asked = Asked {
            place: &place,
            in_clinic: first.place == "clinic",
            minutes: unit.minutes(),
            needs,
            now: self.now,
            wait_min,
            last_on: &last_on,
        };
        // A time that was promised is moved by nobody but with the client.
        let found = if unit.is_promised() {
            vec![]
        } else {
            starts(&self.roads, shifts, &asked, |day, hour| day.at(hour, 0, self.zone), 1)
        };
        if let Some(start) = found.first() {
            let vet = &self.vets[start.vet];
            let when = format!("{} {}", day_words(today, start.day), start.from.hm(self.zone));
            choices.push((
                format!("{}@{}@{}", vet.id, start.from.0, unit.stamp()),
                format!("to {when}, {}", vet.name),
            ));
            if let Some(shift) = shifts.iter_mut().find(|s| s.vet == start.vet && s.day == start.day) {
                let last = last_on.contains(&start.day);
                insert(
                    shift,
                    Stop {
                        place: place.clone(),
                        who: unit.who(),
                        from: start.from,
                        until: start.until,
                        last,
                    },
                );
            }
        }
        choices.push((format!("{RING_BACK}@0@{}", unit.stamp()), "no time yet: ring back".into()));
        let promised = if unit.is_promised() { ", time promised" } else { "" };
        let words = format!("{} at {}{promised}", unit.who(), unit.from().hm(self.zone));
        Shifted { visit: first.id, words, choices }
    }
}

/// Who is asked before whom.
fn turn(at_work: bool, vet: StaffId, on_call: &OnCall) -> u8 {
    let is = |person: &Option<Person>| person.as_ref().is_some_and(|p| p.id == vet);
    let (first, backup) = (is(&on_call.first), is(&on_call.backup));
    match on_call.watch.part {
        Part::Day if at_work || first => 0,
        Part::Night if first => 0,
        _ if at_work => 1,
        _ if backup => 2,
        _ => 3,
    }
}

fn insert(shift: &mut Shift, stop: Stop) {
    let at = shift.stops.partition_point(|other: &Stop| other.from <= stop.from);
    shift.stops.insert(at, stop);
}

/// A choice as it was sent: the new vet and time, or none to ring back, and the stamp of what it was about.
pub fn read_choice(text: &str) -> Option<(Option<(StaffId, At)>, i64)> {
    let mut parts = text.split('@');
    let (vet, at, stamp) = (parts.next()?, parts.next()?, parts.next()?);
    let stamp = stamp.parse().ok()?;
    if vet == RING_BACK {
        return Some((None, stamp));
    }
    Some((Some((vet.parse().ok()?, At(at.parse().ok()?))), stamp))
}
