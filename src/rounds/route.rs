//! The route of a vet's day: in which order it is driven, what that takes, and a better order where there is one. What
//! has begun stays where it is, and so does a time that was promised.

use axum::{extract::State, response::Response};
use jiff::tz::TimeZone;
use serde::Deserialize;
use sqlx::SqlitePool;

use super::{
    planner::Planner,
    store::{self, Booked},
};
use crate::{
    App,
    accounts::{self, Can, act},
    clock::{At, Day},
    ids::{StaffId, VisitId, YardId},
    practice,
    reasoning::road::{Course, Plan, Visit, as_booked, best},
    visits::{
        self, State as Stage,
        store::changes::{self, NewChange},
    },
    web::{Begun, Conflict, Error, Form, Once, Result, begin, flash},
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
        let stops: Vec<&Booked> = planner.of(vet.id, day).collect();
        if stops.iter().any(|stop| stop.place == "yard") {
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
    fn route(&self, vet: &str, stops: &[&Booked]) -> Result<Route> {
        let all = self.course(None, stops);
        let whole = self.plan(&all, stops);
        let done = stops.iter().rposition(|stop| self.is_done(stop)).map_or(0, |last| last + 1);
        let (behind, ahead) = stops.split_at(done);
        let better = self.better(&whole, behind.last().copied(), ahead)?;
        let lost = stops.iter().filter_map(|stop| Some((stop.yard_id?, stop.yard.clone()?, stop.lat)));
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
            lost,
        })
    }

    fn is_done(&self, stop: &Booked) -> bool {
        stop.state != Stage::Booked || stop.starts_at <= self.now
    }

    /// The day around what is still ahead.
    fn course(&self, behind: Option<&Booked>, ahead: &[&Booked]) -> Course {
        let rules = &self.planner.roads.rules;
        let usual = || {
            let morning = self.day.start(self.zone);
            let at = |code| morning.plus_minutes(rules.whole(code));
            (at("day_from_min"), at("day_until_min"))
        };
        let (from, until) = self.planner.hours(self.vet, self.day).unwrap_or_else(usual);
        let base = self.planner.base(self.vet);
        let start = behind.map_or_else(|| base.clone(), |stop| self.planner.place_of(stop));
        let free = behind.map_or(from, |stop| stop.starts_at.plus_minutes(stop.minutes));
        let first = ahead.first().map_or(from, |stop| stop.starts_at);
        let from = if self.day == self.now.day(self.zone) { free.max(self.now) } else { free.min(first) };
        Course { from, until, start, end: base }
    }

    fn visits(&self, stops: &[&Booked]) -> Vec<Visit> {
        let one = |stop: &&Booked| Visit {
            place: self.planner.place_of(stop),
            minutes: stop.minutes,
            at: stop.promised.then_some(stop.starts_at),
        };
        stops.iter().map(one).collect()
    }

    fn plan(&self, course: &Course, stops: &[&Booked]) -> Plan {
        let starts: Vec<At> = stops.iter().map(|stop| stop.starts_at).collect();
        as_booked(&self.planner.roads, course, &self.visits(stops), &starts)
    }

    /// A shorter way through what is ahead, told as the whole day's.
    fn better(&self, whole: &Plan, behind: Option<&Booked>, ahead: &[&Booked]) -> Result<Option<Better>> {
        let places: Vec<_> = ahead.iter().map(|stop| self.planner.place_of(stop)).collect();
        if ahead.len() > crate::reasoning::road::MOST_STOPS || places.iter().any(|p| p.spot.is_none()) {
            return Ok(None);
        }
        let mut course = self.course(behind, ahead);
        let before = self.plan(&course, ahead);
        course.until = course.until.max(before.back);
        let found = best(&self.planner.roads, &course, &self.visits(ahead));
        let found = found.map_err(|refused| Error::BadRequest(refused.to_string()))?;
        let Some(after) = found.filter(|after| after.drive_min < before.drive_min) else { return Ok(None) };
        let moves = after.order.iter().zip(&after.starts).filter_map(|(at, start)| {
            let stop = ahead[*at];
            (stop.starts_at != *start).then(|| format!("{}@{}@{}", stop.id, stop.version, start.0))
        });
        Ok(Some(Better {
            moves: moves.collect(),
            stops: self.legs(&course, ahead, &after),
            drive_min: whole.drive_min - before.drive_min + after.drive_min,
            km: whole.km.zip(before.km.zip(after.km)).map(|(all, (before, after))| all - before + after),
        }))
    }

    fn legs(&self, course: &Course, stops: &[&Booked], plan: &Plan) -> Vec<Leg> {
        let mut here = course.start.clone();
        let order = plan.order.iter().zip(&plan.starts);
        order
            .map(|(at, start)| {
                let stop = stops[*at];
                let place = self.planner.place_of(stop);
                let drive_min = self.planner.roads.leg(&here, &place).minutes;
                here = place.clone();
                Leg {
                    visit: stop.id,
                    who: stop.horse.clone(),
                    place: place.name.to_string(),
                    at: start.hm(self.zone),
                    drive_min,
                    promised: stop.promised,
                }
            })
            .collect()
    }
}

#[derive(Deserialize, Default)]
#[serde(default)]
pub(super) struct RouteForm {
    submission: String,
    vet: String,
    #[serde(rename = "move")]
    moves: Vec<String>,
}

/// A visit that gets another time.
struct Move {
    visit: VisitId,
    version: i64,
    at: At,
}

impl RouteForm {
    fn read(&self) -> Option<(StaffId, Vec<Move>)> {
        let one = |text: &String| {
            let mut parts = text.split('@');
            let (visit, version, at) = (parts.next()?, parts.next()?, parts.next()?);
            Some(Move {
                visit: visit.parse().ok()?,
                version: version.parse().ok()?,
                at: At(at.parse().ok()?),
            })
        };
        let moves: Vec<Move> = self.moves.iter().map(one).collect::<Option<_>>()?;
        Some((self.vet.parse().ok()?, moves)).filter(|(_, moves)| !moves.is_empty())
    }
}

/// Takes the better order: every visit that moves gets its time, or none does.
pub(super) async fn accept(
    Can { user, .. }: Can<act::Book>,
    State(app): State<App>,
    Form(form): Form<RouteForm>,
) -> Result<Response> {
    let (vet, moves) =
        form.read().ok_or_else(|| Error::BadRequest("This order of the day cannot be read".into()))?;
    let mut once = match begin(&app, &form.submission, Some(user.id)).await? {
        Begun::Fresh(once) => once,
        Begun::Repeat(answer) => return Ok(answer),
    };
    let zone = practice::store::get(&mut *once.tx).await?.zone;
    let told = retime(&mut once, vet, &moves, (user.id, &zone)).await?;
    flash(
        &mut once.tx,
        &user,
        &format!("The day is driven in the better order. Tell the callers: {}.", told.join("; ")),
    )
    .await?;
    let day = moves.first().map_or(once.now, |one| one.at).day(&zone);
    let today = once.now.day(&zone);
    once.commit(&if day == today { "/".to_owned() } else { format!("/?day={day}") }).await
}

/// Gives every visit its new time; says who has to be told.
async fn retime(
    once: &mut Once,
    vet: StaffId,
    moves: &[Move],
    (by, zone): (StaffId, &TimeZone),
) -> Result<Vec<String>> {
    let mut before = Vec::new();
    for one in moves {
        let visit = visits::store::get(&mut *once.tx, one.visit).await?;
        let same_day = visit.starts_at.day(zone) == one.at.day(zone);
        if visit.vet_id != Some(vet) || visit.version != one.version || !same_day {
            return Err(changed());
        }
        before.push(visit.starts_at);
        store::set_aside(&mut once.tx, one.visit).await?;
    }
    let mut told = Vec::new();
    for (one, was) in moves.iter().zip(before) {
        if store::retime(&mut once.tx, one.visit, one.version, one.at).await? == 0 {
            return Err(changed());
        }
        match store::give_back(&mut once.tx, one.visit, vet).await {
            Err(error) if visits::store::is_overlap(&error) => return Err(changed()),
            given => given?,
        }
        let line = visits::store::day::line(&mut *once.tx, one.visit).await?;
        let (from, to) = (was.hm(zone), one.at.hm(zone));
        let detail = format!("from {from} to {to}");
        let change = NewChange {
            visit: one.visit,
            what: "moved",
            detail: &detail,
            reason: "a better order of the day",
        };
        changes::note(&mut once.tx, change, by, once.now).await?;
        told.push(format!("{} {from} → {to}", line.horse));
    }
    Ok(told)
}

fn changed() -> Error {
    let clash = Conflict {
        what: "The day has changed since this order was found: look at it again".into(),
        back: "/".into(),
        ..Conflict::default()
    };
    Error::Conflict(Box::new(clash))
}
