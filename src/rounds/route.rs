//! The route of a vet's day: in which order it is driven, what that takes, and a better order where there is one. What
//! has begun stays where it is, and so does a time that was promised.

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{planner::Planner, store::Booked, units::Unit};
use crate::{
    accounts,
    clock::{At, Day},
    ids::{StaffId, VisitId, YardId},
    reasoning::road::{Course, Plan, Visit, as_booked, best, carries_on},
    web::{Error, Result},
};

/// A vet's day on the road.
pub struct Route {
    pub vet_id: StaffId,
    pub vet: String,
    pub stops: Vec<Leg>,
    pub drive_min: i64,
    /// None where a position is missing.
    pub km: Option<f64>,
    pub better: Option<Better>,
    /// As booked, it leads from a marked stop on to one that others are kept safe for.
    pub carries_on: bool,
    /// Yards that have no position yet.
    pub lost: Vec<(YardId, String)>,
}

/// A stop and the drive to it.
pub struct Leg {
    pub visit: VisitId,
    pub who: String,
    pub place: String,
    pub at: String,
    pub drive_min: i64,
    pub promised: bool,
    /// Infectious, suspected or isolated.
    pub marked: bool,
}

/// Another order that takes less driving.
pub struct Better {
    pub stops: Vec<Leg>,
    pub drive_min: i64,
    pub km: Option<f64>,
    /// What the button sends: the visit, its version and its new time, for each that moves.
    pub moves: Vec<String>,
}

impl Route {
    pub fn km_words(&self) -> String {
        km_words(self.km)
    }
}

impl Better {
    pub fn km_words(&self) -> String {
        km_words(self.km)
    }
}

/// Kilometres as they are said.
fn km_words(km: Option<f64>) -> String {
    km.map_or_else(|| "an unknown number of".to_owned(), |km| format!("{km:.0}"))
}

/// The routes of a day that is not over, a vet each; vets who stay in the practice have none.
pub async fn of_day(db: &SqlitePool, day: Day, now: At, zone: &TimeZone) -> Result<Vec<Route>> {
    if day < now.day(zone) {
        return Ok(Vec::new());
    }
    let vets = accounts::store::vets(db).await?;
    let planner = Planner::load(db, &vets, (day, 1), now, zone).await?;
    let mut routes = Vec::new();
    for vet in &vets {
        let stops = planner.units(vet.id, day);
        if stops.iter().any(|stop| stop.first().place == "yard") {
            routes.push(Road { planner: &planner, vet: vet.id, day, now, zone }.route(&vet.name, &stops)?);
        }
    }
    Ok(routes)
}

/// One vet, one day.
struct Road<'a> {
    planner: &'a Planner<'a>,
    vet: StaffId,
    day: Day,
    now: At,
    zone: &'a TimeZone,
}

impl Road<'_> {
    fn route(&self, vet: &str, stops: &[Unit<'_>]) -> Result<Route> {
        let all = self.course(None, stops);
        let whole = self.plan(&all, stops);
        let done = stops.iter().rposition(|stop| self.is_done(stop)).map_or(0, |last| last + 1);
        let (behind, ahead) = stops.split_at(done);
        let better = self.better(&whole, behind.last(), ahead)?;
        let firsts = stops.iter().map(Unit::first);
        let lost = firsts.filter_map(|stop: &Booked| Some((stop.yard_id?, stop.yard.clone()?, stop.lat)));
        let mut lost: Vec<_> =
            lost.filter(|(_, _, lat)| lat.is_none()).map(|(id, name, _)| (id, name)).collect();
        lost.dedup();
        Ok(Route {
            vet_id: self.vet,
            vet: vet.to_owned(),
            stops: self.legs(&all, stops, &whole),
            drive_min: whole.drive_min,
            km: whole.km,
            better,
            carries_on: carries_on(&self.visits(stops)),
            lost,
        })
    }

    fn is_done(&self, stop: &Unit<'_>) -> bool {
        !stop.is_booked() || stop.from() <= self.now
    }

    /// The day around what is still ahead.
    fn course(&self, behind: Option<&Unit<'_>>, ahead: &[Unit<'_>]) -> Course {
        let rules = &self.planner.roads.rules;
        let usual = || {
            let morning = self.day.start(self.zone);
            let at = |code| morning.plus_minutes(rules.whole(code));
            (at("day_from_min"), at("day_until_min"))
        };
        let (from, until) = self.planner.hours(self.vet, self.day).unwrap_or_else(usual);
        let base = self.planner.base(self.vet);
        let start = behind.map_or_else(|| base.clone(), |stop| self.planner.place_of(stop.first()));
        let free = behind.map_or(from, Unit::until);
        let first = ahead.first().map_or(from, Unit::from);
        let from = if self.day == self.now.day(self.zone) { free.max(self.now) } else { free.min(first) };
        Course { from, until, start, end: base }
    }

    fn visits(&self, stops: &[Unit<'_>]) -> Vec<Visit> {
        let one = |stop: &Unit<'_>| Visit {
            place: self.planner.place_of(stop.first()),
            minutes: stop.minutes(),
            at: stop.is_promised().then_some(stop.from()),
            last: self.planner.is_last(stop),
        };
        stops.iter().map(one).collect()
    }

    fn plan(&self, course: &Course, stops: &[Unit<'_>]) -> Plan {
        let starts: Vec<At> = stops.iter().map(Unit::from).collect();
        as_booked(&self.planner.roads, course, &self.visits(stops), &starts)
    }

    /// A shorter way through what is ahead, told as the whole day's.
    fn better(&self, whole: &Plan, behind: Option<&Unit<'_>>, ahead: &[Unit<'_>]) -> Result<Option<Better>> {
        let places: Vec<_> = ahead.iter().map(|stop| self.planner.place_of(stop.first())).collect();
        if ahead.len() > crate::reasoning::road::MOST_STOPS || places.iter().any(|p| p.spot.is_none()) {
            return Ok(None);
        }
        let mut course = self.course(behind, ahead);
        let before = self.plan(&course, ahead);
        course.until = course.until.max(before.back);
        let found = best(&self.planner.roads, &course, &self.visits(ahead));
        let found = found.map_err(|refused| Error::BadRequest(refused.to_string()))?;
        // What others are kept safe from goes last, however much longer the way is.
        let is_better = |after: &Plan| after.drive_min < before.drive_min || carries_on(&self.visits(ahead));
        let Some(after) = found.filter(is_better) else { return Ok(None) };
        let others =
            after.order.iter().zip(&after.starts).filter(|(at, start)| ahead[**at].from() != **start);
        let moves = others.flat_map(|(at, start)| {
            let later = start.0 - ahead[*at].from().0;
            ahead[*at]
                .visits()
                .iter()
                .map(move |one| format!("{}@{}@{}", one.id, one.version, one.starts_at.0 + later))
        });
        Ok(Some(Better {
            moves: moves.collect(),
            stops: self.legs(&course, ahead, &after),
            drive_min: whole.drive_min - before.drive_min + after.drive_min,
            km: whole.km.zip(before.km.zip(after.km)).map(|(all, (before, after))| all - before + after),
        }))
    }

    fn legs(&self, course: &Course, stops: &[Unit<'_>], plan: &Plan) -> Vec<Leg> {
        let mut here = course.start.clone();
        let order = plan.order.iter().zip(&plan.starts);
        order
            .map(|(at, start)| {
                let stop = &stops[*at];
                let place = self.planner.place_of(stop.first());
                let drive_min = self.planner.roads.leg(&here, &place).minutes;
                here = place.clone();
                Leg {
                    visit: stop.first().id,
                    who: stop.who(),
                    place: place.name.to_string(),
                    at: start.hm(self.zone),
                    drive_min,
                    promised: stop.is_promised(),
                    marked: self.planner.is_last(stop),
                }
            })
            .collect()
    }
}
