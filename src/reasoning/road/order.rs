//! In which order a day is driven best: exactly, for up to nine stops.
//!
//! Dynamic programming over the sets of stops that are done and the last of them (Held and Karp 1962). Since some
//! stops have fixed times, the shortest way to a set is not always the one to go on from: for each set and last stop
//! every way is kept that no other beats in both driving and time. After a stop that others have to be kept safe from
//! only such stops come: a way never leads back to the rest.

use super::{Place, Roads};
use crate::{clock::At, reasoning::Refused};

/// With more stops than this the exact order takes too long to find.
pub const MOST_STOPS: usize = 9;
/// Reckoned times are told in steps of this many minutes.
const STEP_MIN: i64 = 5;

/// A stop of the day.
#[derive(Clone, Debug)]
pub struct Visit {
    pub place: Place,
    pub minutes: i64,
    /// The time that was promised, if one was.
    pub at: Option<At>,
    /// Infectious, suspected or isolated: the others come before it.
    pub last: bool,
}

/// The day around the stops.
#[derive(Clone, Debug)]
pub struct Course {
    pub from: At,
    /// Home again by then.
    pub until: At,
    pub start: Place,
    pub end: Place,
}

/// An order and what it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Places in the list of stops, in the order they are driven.
    pub order: Vec<usize>,
    /// When each begins, in that order.
    pub starts: Vec<At>,
    pub drive_min: i64,
    /// None where a position is missing.
    pub km: Option<f64>,
    pub back: At,
}

/// One way to have done a set of stops.
#[derive(Clone, Copy)]
struct Way {
    free: At,
    drive_min: i64,
    began: At,
    /// The stop before, and which of its ways.
    came: Option<(usize, usize)>,
}

/// The order with the least driving that keeps every promised time, then the one that is home soonest. None when no
/// order keeps them within the hours with what others are kept safe from at the end.
///
/// # Errors
/// There are more stops than can be tried.
pub fn best(roads: &Roads, course: &Course, visits: &[Visit]) -> Result<Option<Plan>, Refused> {
    let count = visits.len();
    if count > MOST_STOPS {
        return Err(Refused::new("stops", format!("must be {MOST_STOPS} at most, not {count}")));
    }
    if count == 0 {
        return Ok(Some(plan(roads, course, visits, Vec::new(), Vec::new())));
    }
    let full = (1_usize << count) - 1;
    let mut ways: Vec<Vec<Way>> = vec![Vec::new(); (full + 1) * count];
    for (last, visit) in visits.iter().enumerate() {
        let way = go(roads, (&course.start, course.from, 0), visit, None);
        ways[(1 << last) * count + last].extend(way);
    }
    for done in 1..=full {
        for last in (0..count).filter(|last| done & (1 << last) != 0) {
            let here = ways[done * count + last].clone();
            let ahead = visits.iter().enumerate().filter(|(next, _)| done & (1 << next) == 0);
            for (next, visit) in ahead.filter(|(_, visit)| visit.last || !visits[last].last) {
                let cell = (done | 1 << next) * count + next;
                for (at, way) in here.iter().enumerate() {
                    let from = (&visits[last].place, way.free, way.drive_min);
                    keep(&mut ways[cell], go(roads, from, visit, Some((last, at))));
                }
            }
        }
    }
    Ok(finish(roads, course, visits, &ways))
}

/// Drives to a stop and sees it; none when a promised time would be missed.
fn go(
    roads: &Roads,
    (place, free, drive_min): (&Place, At, i64),
    visit: &Visit,
    came: Option<(usize, usize)>,
) -> Option<Way> {
    let ready = free.plus_minutes(roads.change(place, &visit.place));
    let began = match visit.at {
        Some(at) if ready > at => return None,
        Some(at) => at,
        None => in_steps(ready),
    };
    let drive_min = drive_min + roads.leg(place, &visit.place).minutes;
    Some(Way { free: began.plus_minutes(visit.minutes), drive_min, began, came })
}

/// Keeps a way unless another is as good in both; lets go of those that it beats. Places of kept ways stay, since a set
/// is only gone on from when it is complete.
fn keep(ways: &mut Vec<Way>, way: Option<Way>) {
    let Some(way) = way else { return };
    if ways.iter().any(|other| other.free <= way.free && other.drive_min <= way.drive_min) {
        return;
    }
    ways.retain(|other| !(way.free <= other.free && way.drive_min <= other.drive_min));
    ways.push(way);
}

fn finish(roads: &Roads, course: &Course, visits: &[Visit], ways: &[Vec<Way>]) -> Option<Plan> {
    let count = visits.len();
    let full = (1_usize << count) - 1;
    let mut ends = Vec::new();
    for last in 0..count {
        let home = roads.leg(&visits[last].place, &course.end).minutes;
        for (at, way) in ways[full * count + last].iter().enumerate() {
            let back = way.free.plus_minutes(home);
            if back <= course.until {
                ends.push((way.drive_min + home, back, last, at));
            }
        }
    }
    let (_, _, last, at) = ends.into_iter().min()?;
    let (mut order, mut starts, mut done, mut here) = (Vec::new(), Vec::new(), full, Some((last, at)));
    while let Some((last, at)) = here {
        let way = ways[done * count + last][at];
        order.push(last);
        starts.push(way.began);
        done &= !(1 << last);
        here = way.came;
    }
    order.reverse();
    starts.reverse();
    Some(plan(roads, course, visits, order, starts))
}

/// Whether an order leads from a stop that others are kept safe from to one of the others.
pub fn carries_on(visits: &[Visit]) -> bool {
    visits.windows(2).any(|pair| pair[0].last && !pair[1].last)
}

/// The day as it is booked: its stops in the order they are given, each at its time.
pub fn as_booked(roads: &Roads, course: &Course, visits: &[Visit], starts: &[At]) -> Plan {
    plan(roads, course, visits, (0..visits.len()).collect(), starts.to_vec())
}

fn plan(roads: &Roads, course: &Course, visits: &[Visit], order: Vec<usize>, starts: Vec<At>) -> Plan {
    let mut places = vec![&course.start];
    places.extend(order.iter().map(|at| &visits[*at].place));
    places.push(&course.end);
    let legs: Vec<_> = places.windows(2).map(|pair| roads.leg(pair[0], pair[1])).collect();
    let free = order
        .last()
        .zip(starts.last())
        .map_or(course.from, |(at, began)| began.plus_minutes(visits[*at].minutes));
    Plan {
        drive_min: legs.iter().map(|leg| leg.minutes).sum(),
        km: legs.iter().map(|leg| leg.km).sum(),
        back: free.plus_minutes(legs.last().map_or(0, |leg| leg.minutes)),
        order,
        starts,
    }
}

fn in_steps(at: At) -> At {
    let step = STEP_MIN * 60_000;
    At(at.0 + (-at.0).rem_euclid(step))
}
