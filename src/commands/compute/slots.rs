//! The best starts for a visit in the days of the vets.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::road::{PlaceIn, figures, instant, minutes, rules, utc, wall, zone};
use crate::{
    catalogue::Urgency,
    clock::Day,
    reasoning::{
        Refused,
        road::{Asked, Drive, Roads, Shift, Stop, starts},
    },
};

/// As many starts as are given.
const MOST: usize = 5;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    #[serde(default = "utc")]
    zone: String,
    now: String,
    #[serde(default = "routine")]
    class: Urgency,
    visit: VisitIn,
    vets: Vec<VetIn>,
    #[serde(default)]
    drives: Vec<DriveIn>,
    #[serde(default)]
    figures: BTreeMap<String, f64>,
}

fn routine() -> Urgency {
    Urgency::Routine
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct VisitIn {
    place: PlaceIn,
    minutes: i64,
    #[serde(default)]
    needs: Vec<String>,
    #[serde(default)]
    in_clinic: bool,
    /// The others come before it.
    #[serde(default)]
    last: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct VetIn {
    name: String,
    base: PlaceIn,
    #[serde(default)]
    equipment: Vec<String>,
    days: Vec<DayIn>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DayIn {
    from: String,
    until: String,
    #[serde(default)]
    clinic: bool,
    #[serde(default)]
    stops: Vec<StopIn>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StopIn {
    place: PlaceIn,
    who: String,
    from: String,
    minutes: i64,
    #[serde(default)]
    last: bool,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DriveIn {
    from: String,
    to: String,
    minutes: i64,
}

#[derive(Serialize)]
pub(super) struct Output {
    starts: Vec<StartOut>,
}

#[derive(Serialize)]
struct StartOut {
    vet: String,
    from: String,
    until: String,
    adds_min: i64,
    drive_min: i64,
    why: String,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let zone = zone(&input.zone)?;
    let drives: Vec<Drive> = input
        .drives
        .iter()
        .map(|row| Drive { from: row.from.clone(), to: row.to.clone(), minutes: row.minutes })
        .collect();
    let roads = Roads::new(rules(&input.figures)?, &drives);
    let mut shifts = Vec::new();
    for (at, vet) in input.vets.iter().enumerate() {
        for (on, day) in vet.days.iter().enumerate() {
            shifts.push(day.shift(at, vet, &format!("vets[{at}].days[{on}]"), &zone)?);
        }
    }
    let place = input.visit.place.place("visit.place")?;
    let days: Vec<Day> = shifts.iter().map(|shift| shift.day).collect();
    let asked = Asked {
        place: &place,
        in_clinic: input.visit.in_clinic,
        minutes: minutes("visit.minutes", input.visit.minutes)?,
        needs: &input.visit.needs,
        now: instant("now", &input.now, &zone)?,
        wait_min: roads.rules.patience(input.class).1,
        last_on: if input.visit.last { &days } else { &[] },
    };
    let found = starts(&roads, &shifts, &asked, |day, hour| day.at(hour, 0, &zone), MOST);
    let starts = found.into_iter().map(|start| StartOut {
        vet: input.vets[start.vet].name.clone(),
        from: wall(start.from, &zone),
        until: wall(start.until, &zone),
        adds_min: start.adds_min,
        drive_min: start.before.leg.minutes,
        why: start.why(),
    });
    Ok(Output { starts: starts.collect() })
}

impl DayIn {
    fn shift(&self, at: usize, vet: &VetIn, name: &str, zone: &TimeZone) -> Result<Shift, Refused> {
        let mut stops = Vec::new();
        for (on, stop) in self.stops.iter().enumerate() {
            let name = format!("{name}.stops[{on}]");
            let from = instant(&format!("{name}.from"), &stop.from, zone)?;
            let minutes = minutes(&format!("{name}.minutes"), stop.minutes)?;
            let place = stop.place.place(&format!("{name}.place"))?;
            let until = from.plus_minutes(minutes);
            stops.push(Stop { place, who: stop.who.clone(), from, until, last: stop.last });
        }
        stops.sort_by_key(|stop| stop.from);
        let from = instant(&format!("{name}.from"), &self.from, zone)?;
        Ok(Shift {
            vet: at,
            day: from.day(zone),
            from,
            until: instant(&format!("{name}.until"), &self.until, zone)?,
            base: vet.base.place(&format!("vets[{at}].base"))?,
            clinic: self.clinic,
            equipment: vet.equipment.clone(),
            stops,
        })
    }
}

pub(super) fn help() -> String {
    format!(
        "In:\n  zone     of all times, such as Europe/Dublin; UTC when left out\n  now      wall-clock time, like \
         2026-03-11T09:30: nothing begins before\n  class    now, same_day, days or routine; routine when left out\n  \
         visit    {{place, minutes, needs: [equipment], in_clinic, last}}\n  vets     each {{name, base: place, equipment: [..], days: \
         [{{from, until, clinic, stops: [{{place, who, from, minutes, last}}]}}]}}\n  drives   drives made before, each {{from, to, \
         minutes}} by names of places; none when left out\n  figures  numbers in place of those below, by their codes; none \
         when left out\n  A place is {{name, lat, lon}}; without lat and lon its drives are guessed. Two of one name are one.\n\n\
         Out:\n  starts  the best {MOST}, each {{vet, from, until, adds_min, drive_min, why}}: driving that the day has more \
         of, minutes; the drive to it, minutes; the reason\n\n\
         What is booked stays; what is marked last (infectious, suspected, isolated) comes after the others. Ranked by driving added, a day of waiting counted as so many minutes of it.\n\n\
         Figures:\n{}",
        figures()
    )
}
