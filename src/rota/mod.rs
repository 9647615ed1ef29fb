//! The rota: who is called first and who backs up, by day and by night. A pattern that comes again, and single days that
//! differ from it. Who works by day stands in the hours of the vets.

mod form;
mod pages;
pub mod store;

use std::collections::HashMap;

use axum::{Router, routing::get};
use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use crate::{
    App,
    clock::{At, Day},
    ids::StaffId,
    reasoning::{
        road::Rules,
        watch::{HandOver, Part, Watch, monday, week_of_pattern},
    },
    rounds,
};

pub fn router() -> Router<App> {
    Router::new().route("/rota", get(pages::page).post(pages::set))
}

/// Somebody who can be called.
#[derive(Debug, Clone)]
pub struct Person {
    pub id: StaffId,
    pub name: String,
    /// Empty where nobody has entered it.
    pub phone: String,
}

impl Person {
    /// The number as a telephone dials it.
    pub fn dial(&self) -> String {
        self.phone.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect()
    }
}

/// Who stands in one cell.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Cell {
    pub first: Option<StaffId>,
    pub backup: Option<StaffId>,
}

/// Who is on call in one watch.
#[derive(Debug, Clone)]
pub struct OnCall {
    pub watch: Watch,
    pub first: Option<Person>,
    pub backup: Option<Person>,
}

impl OnCall {
    pub fn is_empty(&self) -> bool {
        self.first.is_none() && self.backup.is_none()
    }

    /// "by day" or "at night"
    pub fn part_words(&self) -> &'static str {
        match self.watch.part {
            Part::Day => "by day",
            Part::Night => "at night",
        }
    }
}

/// The rota of some days.
#[derive(Debug)]
pub struct Rota {
    pub hand_over: HandOver,
    pub weeks: i64,
    /// By week of the pattern, weekday (Monday is 0) and part.
    pattern: HashMap<(i64, i64, Part), Cell>,
    single: HashMap<(Day, Part), Cell>,
    people: HashMap<StaffId, Person>,
}

impl Rota {
    /// Reads the pattern, and the single days between two days.
    pub async fn load(db: &SqlitePool, from: Day, until: Day) -> sqlx::Result<Self> {
        let rules = rounds::rules(db).await?;
        Ok(Rota {
            hand_over: hand_over(&rules),
            weeks: rules.whole("rota_weeks"),
            pattern: store::pattern(db).await?,
            single: store::single(db, from, until).await?,
            people: store::people(db).await?.into_iter().map(|person| (person.id, person)).collect(),
        })
    }

    /// The cell of the pattern that a day falls into.
    pub fn of_pattern(&self, day: Day, part: Part) -> Cell {
        let key = (week_of_pattern(day, self.weeks), monday(day).days_until(day), part);
        self.pattern.get(&key).copied().unwrap_or_default()
    }

    /// What a single day says in place of the pattern.
    pub fn of_day(&self, day: Day, part: Part) -> Cell {
        self.single.get(&(day, part)).copied().unwrap_or_default()
    }

    /// Who holds a watch. Somebody who does not work here any more holds none.
    pub fn on(&self, day: Day, part: Part, zone: &TimeZone) -> OnCall {
        let (single, usual) = (self.of_day(day, part), self.of_pattern(day, part));
        let person = |id: Option<StaffId>| id.and_then(|id| self.people.get(&id)).cloned();
        OnCall {
            watch: self.hand_over.watch(day, part, zone),
            first: person(single.first.or(usual.first)),
            backup: person(single.backup.or(usual.backup)),
        }
    }

    pub fn at(&self, now: At, zone: &TimeZone) -> OnCall {
        let watch = self.hand_over.at(now, zone);
        self.on(watch.day, watch.part, zone)
    }
}

fn hand_over(rules: &Rules) -> HandOver {
    HandOver {
        to_day_min: rules.whole("duty_day_from_min"),
        to_night_min: rules.whole("duty_night_from_min"),
    }
}

/// Who is on call at an instant.
pub async fn at(db: &SqlitePool, now: At, zone: &TimeZone) -> sqlx::Result<OnCall> {
    let today = now.day(zone);
    Ok(Rota::load(db, today.plus_days(-1), today).await?.at(now, zone))
}
