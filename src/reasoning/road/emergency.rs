//! Who can be with an emergency soonest, and what moves for it.

use super::{Place, Roads, Shift, Stop};
use crate::clock::At;

/// A vet and what is known of this day; without a shift they are off duty.
#[derive(Clone, Debug)]
pub struct Duty<'a> {
    pub vet: usize,
    pub shift: &'a Shift,
    pub on_duty: bool,
    /// Who is asked before whom: the lower, the sooner.
    pub turn: u8,
}

/// How soon one vet can be there.
#[derive(Clone, Debug)]
pub struct Reach<'a> {
    pub vet: usize,
    pub on_duty: bool,
    pub turn: u8,
    /// They were at a stop today that others have to be kept safe from.
    pub carries_on: bool,
    /// The stop they are at, until when.
    pub busy: Option<&'a Stop>,
    /// Where they come from.
    pub from: Place,
    /// None where the horse's place is not known.
    pub drive_min: Option<i64>,
    pub there: At,
    /// What is booked and cannot be kept as it stands.
    pub moves: Vec<&'a Stop>,
}

/// Every vet by turn, and the soonest of each turn first. `to` is none while nobody knows where the horse stands.
pub fn reach<'a>(
    roads: &Roads,
    duties: &[Duty<'a>],
    to: Option<&Place>,
    minutes: i64,
    now: At,
) -> Vec<Reach<'a>> {
    let mut found: Vec<Reach<'a>> = duties.iter().map(|duty| one(roads, duty, to, minutes, now)).collect();
    found.sort_by_key(|reach| (reach.turn, reach.there, reach.moves.len(), reach.vet));
    found
}

fn one<'a>(roads: &Roads, duty: &Duty<'a>, to: Option<&Place>, minutes: i64, now: At) -> Reach<'a> {
    let stops = &duty.shift.stops;
    let busy = stops.iter().find(|stop| stop.from <= now && now < stop.until);
    let last = stops.iter().filter(|stop| stop.until <= now).max_by_key(|stop| stop.until);
    let from = busy.or(last).map_or(&duty.shift.base, |stop| &stop.place).clone();
    let free = busy.map_or(now, |stop| stop.until);
    let drive_min = to.map(|to| roads.leg(&from, to).minutes);
    let there = free.plus_minutes(drive_min.unwrap_or(0));
    let over = there.plus_minutes(minutes);
    let too_late = |stop: &&Stop| {
        let on = to.map_or(0, |to| roads.leg(to, &stop.place).minutes);
        stop.from >= free && stop.from < over.plus_minutes(on)
    };
    let moves = stops.iter().filter(too_late).collect();
    Reach {
        vet: duty.vet,
        on_duty: duty.on_duty,
        turn: duty.turn,
        carries_on: stops.iter().any(|stop| stop.last && stop.from <= now),
        busy,
        from,
        drive_min,
        there,
        moves,
    }
}
