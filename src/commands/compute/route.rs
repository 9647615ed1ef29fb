//! The order in which a day's stops are driven best.

use std::collections::BTreeMap;

use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::road::{PlaceIn, figures, instant, minutes, rules, utc, wall, zone};
use crate::{
    clock::At,
    reasoning::{
        Refused,
        road::{Course, MOST_STOPS, Plan, Roads, Visit, as_booked, best},
    },
};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Input {
    #[serde(default = "utc")]
    zone: String,
    from: String,
    until: String,
    start: PlaceIn,
    end: Option<PlaceIn>,
    stops: Vec<StopIn>,
    #[serde(default)]
    figures: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StopIn {
    place: PlaceIn,
    minutes: i64,
    /// As booked; it stays where it is promised.
    at: Option<String>,
    #[serde(default)]
    promised: bool,
    /// Others have to be kept safe from it: they come before it.
    #[serde(default)]
    last: bool,
}

#[derive(Serialize)]
pub(super) struct Output {
    before: Told,
    after: Option<Told>,
}

#[derive(Serialize)]
struct Told {
    stops: Vec<StopOut>,
    drive_min: i64,
    km: Option<f64>,
    back: String,
}

#[derive(Serialize)]
struct StopOut {
    place: String,
    at: String,
}

pub(super) fn compute(input: &Input) -> Result<Output, Refused> {
    let zone = zone(&input.zone)?;
    let roads = Roads::new(rules(&input.figures)?, &[]);
    let start = input.start.place("start")?;
    let end = input.end.as_ref().map_or(Ok(start.clone()), |end| end.place("end"))?;
    let from = instant("from", &input.from, &zone)?;
    let course = Course { from, until: instant("until", &input.until, &zone)?, start, end };
    let (mut visits, mut booked) = (Vec::new(), Vec::new());
    for (on, stop) in input.stops.iter().enumerate() {
        let name = format!("stops[{on}]");
        let at = stop.at.as_ref().map(|at| instant(&format!("{name}.at"), at, &zone)).transpose()?;
        if stop.promised && at.is_none() {
            return Err(Refused::new(format!("{name}.at"), "must be there for a time that is promised"));
        }
        booked.push(at.unwrap_or(from));
        visits.push(Visit {
            place: stop.place.place(&format!("{name}.place"))?,
            minutes: minutes(&format!("{name}.minutes"), stop.minutes)?,
            at: at.filter(|_| stop.promised),
            last: stop.last,
        });
    }
    let before = as_booked(&roads, &course, &visits, &booked);
    let after = best(&roads, &course, &visits)?;
    let told = |plan: &Plan| told(plan, &visits, &zone);
    Ok(Output { before: told(&before), after: after.as_ref().map(told) })
}

fn told(plan: &Plan, visits: &[Visit], zone: &TimeZone) -> Told {
    let stop = |(stop, at): (&usize, &At)| StopOut {
        place: visits[*stop].place.name.to_string(),
        at: wall(*at, zone),
    };
    Told {
        stops: plan.order.iter().zip(&plan.starts).map(stop).collect(),
        drive_min: plan.drive_min,
        km: plan.km,
        back: wall(plan.back, zone),
    }
}

pub(super) fn help() -> String {
    format!(
        "In:\n  zone     of all times; UTC when left out\n  from     wall-clock time at which the day is left for, like \
         2026-03-11T08:00\n  until    home again by then\n  start    place\n  end      place; start when left out\n  stops    up \
         to {MOST_STOPS}, in the order they are driven as booked, each {{place, minutes, at, promised, last}}: a promised time is \
         kept, and what is marked last (infectious, suspected, isolated) comes after the others\n  figures  numbers in place of those below, by their codes; none when left out\n  A place is {{name, lat, lon}}; \
         without lat and lon its drives are guessed. Two of one name are one.\n\n\
         Out:\n  before  as booked: stops {{place, at}}, drive_min, km, back\n  after   the order with the least driving; null \
         when none keeps every promised time within the hours\n\n\
         Figures:\n{}",
        figures()
    )
}
