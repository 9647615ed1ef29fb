//! The days of the vets as the roads see them, out of what is booked; and where a visit fits into them.

use std::collections::HashMap;

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{
    hours::{Hours, WEEKDAYS},
    store::{self, Booked, Round},
    units::{Unit, units},
};
use crate::{
    accounts::store::Staff,
    biosecurity::{self, Marks},
    catalogue::Urgency,
    clock::{At, Day},
    ids::{HorseId, StaffId, YardId},
    reasoning::road::{Asked, Place, Roads, Shift, Spot, Start, Stop, starts},
};

/// As many starts as are offered.
const OFFERS: usize = 5;
/// The key of the practice as a place.
pub const PRACTICE: &str = "practice";

/// The days ahead, from today on.
pub struct Planner<'a> {
    pub roads: Roads,
    pub marks: Marks,
    pub(super) vets: &'a [Staff],
    rounds: HashMap<StaffId, Round>,
    practice: Place,
    booked: Vec<Booked>,
    pub(super) now: At,
    pub(super) zone: &'a TimeZone,
}

/// A start that is offered.
pub struct Offer {
    pub vet: String,
    pub words: String,
    pub why: String,
    /// What the button sends: vet, day, time and minutes.
    pub take: String,
}

/// What is looked for.
pub struct Wish<'a> {
    pub vet: Option<StaffId>,
    /// `clinic`, or the yard with its name and position; none while nobody knows.
    pub place: Option<Place>,
    /// The horses that are seen there one after the other; a new one has no id yet.
    pub horses: Vec<Option<HorseId>>,
    pub yard: Option<YardId>,
    /// For each horse.
    pub minutes: i64,
    pub needs: &'a [String],
    pub class: Urgency,
}

impl Wish<'_> {
    /// For all of its horses together.
    pub fn whole(&self) -> i64 {
        self.minutes * i64::try_from(self.horses.len()).unwrap_or(1).max(1)
    }

    /// Whether the others have to be seen before it on a day.
    pub(super) fn is_last(&self, marks: &Marks, day: Day) -> bool {
        self.horses.iter().any(|horse| marks.cover(*horse, self.yard, day))
    }
}

/// The place of a yard.
pub fn yard_place(id: YardId, name: &str, lat: Option<f64>, lon: Option<f64>) -> Place {
    let spot = lat.zip(lon).map(|(lat, lon)| Spot { lat, lon });
    Place::new(&id.to_string(), name, spot)
}

impl<'a> Planner<'a> {
    /// Reads what is booked for `days` from the day of `from` on.
    pub async fn load(
        db: &SqlitePool,
        vets: &'a [Staff],
        (from, days): (Day, i64),
        now: At,
        zone: &'a TimeZone,
    ) -> sqlx::Result<Self> {
        let roads = Roads::new(super::rules(db).await?, &store::drives(db).await?);
        let rounds = store::rounds(db).await?.into_iter().map(|round| (round.staff_id, round)).collect();
        let spot = store::practice_spot(db).await?.map(|(spot, _)| spot);
        let booked = store::booked(db, from.start(zone), from.plus_days(days).start(zone)).await?;
        let practice = Place::new(PRACTICE, "the practice", spot);
        let marks = biosecurity::store::standing(db).await?;
        Ok(Planner { roads, marks, vets, rounds, practice, booked, now, zone })
    }

    /// Where a booked visit is.
    pub fn place_of(&self, one: &Booked) -> Place {
        match one.yard_id {
            Some(id) if one.place == "yard" => {
                yard_place(id, one.yard.as_deref().unwrap_or("a yard"), one.lat, one.lon)
            }
            _ if one.place == "yard" => Place::new(&one.id.to_string(), "a yard", None),
            _ => self.practice.clone(),
        }
    }

    pub fn practice(&self) -> &Place {
        &self.practice
    }

    /// What is booked for a vet on a day, by time.
    pub fn of(&self, vet: StaffId, day: Day) -> impl Iterator<Item = &Booked> {
        self.booked.iter().filter(move |one| one.vet_id == Some(vet) && one.starts_at.day(self.zone) == day)
    }

    /// The same as it is driven: a shared stop once.
    pub fn units(&self, vet: StaffId, day: Day) -> Vec<Unit<'_>> {
        units(self.of(vet, day))
    }

    /// Whether the others have to be seen before it.
    pub fn is_last(&self, unit: &Unit<'_>) -> bool {
        let covered = |one: &&Booked| {
            let yard = one.yard_id.filter(|_| one.place == "yard");
            self.marks.cover(Some(one.horse_id), yard, one.starts_at.day(self.zone))
        };
        unit.visits().iter().any(covered)
    }

    /// The hours of a vet on a day; none when off.
    pub fn hours(&self, vet: StaffId, day: Day) -> Option<(At, At)> {
        let usual = || {
            let rules = &self.roads.rules;
            Hours::weekdays(rules.whole("day_from_min"), rules.whole("day_until_min"))
        };
        let hours = match self.rounds.get(&vet) {
            Some(round) => Hours::read(&round.hours).unwrap_or_default(),
            None => usual(),
        };
        let ((h, m), (to_h, to_m)) = hours.days[weekday(day)]?;
        Some((day.at(h, m, self.zone), day.at(to_h, to_m, self.zone)))
    }

    /// Where a vet's day begins and ends.
    pub fn base(&self, vet: StaffId) -> Place {
        let round = self.rounds.get(&vet).filter(|round| round.starts_at_home);
        let home = round.map(|round| {
            let spot = round.home_lat.zip(round.home_lon).map(|(lat, lon)| Spot { lat, lon });
            Place::new(&format!("home {vet}"), "home", spot)
        });
        home.unwrap_or_else(|| self.practice.clone())
    }

    pub(super) fn shift(&self, at: usize, day: Day, (from, until): (At, At), needs: &[String]) -> Shift {
        let vet = self.vets[at].id;
        let round = self.rounds.get(&vet);
        let clinic = round
            .is_some_and(|round| round.clinic_days.split(' ').any(|key| key == WEEKDAYS[weekday(day)].0));
        // Of a vehicle that nobody has described, everything is believed.
        let equipment = match round {
            Some(round) => round.equipment.split(' ').map(str::to_owned).collect(),
            None => needs.to_vec(),
        };
        let stops = self.units(vet, day).iter().map(|unit| self.stop(unit)).collect();
        Shift { vet: at, day, from, until, base: self.base(vet), clinic, equipment, stops }
    }

    fn stop(&self, unit: &Unit<'_>) -> Stop {
        Stop {
            place: self.place_of(unit.first()),
            who: unit.who(),
            from: unit.from(),
            until: unit.until(),
            last: self.is_last(unit),
        }
    }

    /// The best starts in the coming days.
    pub fn offers(&self, wish: &Wish<'_>) -> Vec<Offer> {
        let Some(place) = &wish.place else { return Vec::new() };
        let (ahead, wait_min) = self.roads.rules.patience(wish.class);
        let today = self.now.day(self.zone);
        let shifts = self.shifts(ahead, wish.vet, wish.needs);
        let last_on: Vec<Day> =
            (0..ahead).map(|n| today.plus_days(n)).filter(|day| wish.is_last(&self.marks, *day)).collect();
        let asked = Asked {
            place,
            in_clinic: place.is(&self.practice),
            minutes: wish.whole(),
            needs: wish.needs,
            now: self.now,
            wait_min,
            last_on: &last_on,
        };
        let found = starts(&self.roads, &shifts, &asked, |day, hour| day.at(hour, 0, self.zone), OFFERS);
        found.iter().map(|start| self.offer(start, wish.minutes, today)).collect()
    }

    /// The days of the vets, or of one of them, from today on.
    pub(super) fn shifts(&self, ahead: i64, vet: Option<StaffId>, needs: &[String]) -> Vec<Shift> {
        let today = self.now.day(self.zone);
        let mut shifts = Vec::new();
        for day in (0..ahead).map(|n| today.plus_days(n)) {
            for (at, one) in self.vets.iter().enumerate() {
                if vet.is_none_or(|id| id == one.id)
                    && let Some(hours) = self.hours(one.id, day)
                {
                    shifts.push(self.shift(at, day, hours, needs));
                }
            }
        }
        shifts
    }

    fn offer(&self, start: &Start, minutes: i64, today: Day) -> Offer {
        let vet = &self.vets[start.vet];
        Offer {
            vet: vet.name.clone(),
            words: format!("{} {}", day_words(today, start.day), start.from.hm(self.zone)),
            why: start.why(),
            take: take(vet.id, start.day, &start.from.hm(self.zone), minutes),
        }
    }
}

/// "today", "tomorrow", "Fri 13 Mar"
pub(super) fn day_words(today: Day, day: Day) -> String {
    match today.days_until(day) {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        _ => day.0.strftime("%a %-d %b").to_string(),
    }
}

pub(super) fn take(vet: StaffId, day: Day, time: &str, minutes: i64) -> String {
    format!("{vet}@{day}@{time}@{minutes}")
}

fn weekday(day: Day) -> usize {
    usize::try_from(day.0.weekday().to_monday_zero_offset()).unwrap_or_default()
}
