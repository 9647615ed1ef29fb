//! The days of the vets as the roads see them, out of what is booked; and where a visit fits into them.

use std::collections::HashMap;

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{
    hours::{Hours, WEEKDAYS},
    store::{self, Booked, Round},
};
use crate::{
    accounts::store::Staff,
    catalogue::Urgency,
    clock::{At, Day},
    ids::{StaffId, VisitId, YardId},
    reasoning::road::{Asked, Duty, Place, Reach, Roads, Shift, Spot, Start, Stop, reach, starts},
};

/// As many starts as are offered.
const OFFERS: usize = 5;
/// As many vets as an emergency names.
const NEAREST: usize = 3;
/// The key of the practice as a place.
pub const PRACTICE: &str = "practice";

/// The days ahead, from today on.
pub struct Planner<'a> {
    pub roads: Roads,
    vets: &'a [Staff],
    rounds: HashMap<StaffId, Round>,
    practice: Place,
    booked: Vec<Booked>,
    now: At,
    zone: &'a TimeZone,
}

/// A start that is offered.
pub struct Offer {
    pub vet: String,
    pub words: String,
    pub why: String,
    /// What the button sends: vet, day, time and minutes.
    pub take: String,
}

/// A vet for an emergency.
pub struct Near {
    pub vet: String,
    pub words: String,
    /// What has to move, as links.
    pub moves: Vec<(VisitId, String)>,
    /// What the button sends, where nothing stands in the way of that very time.
    pub take: Option<String>,
}

/// What is looked for.
pub struct Wish<'a> {
    pub vet: Option<StaffId>,
    /// `clinic`, or the yard with its name and position; none while nobody knows.
    pub place: Option<Place>,
    pub minutes: i64,
    pub needs: &'a [String],
    pub class: Urgency,
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
        Ok(Planner { roads, vets, rounds, practice, booked, now, zone })
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

    fn shift(&self, at: usize, day: Day, (from, until): (At, At), needs: &[String]) -> Shift {
        let vet = self.vets[at].id;
        let round = self.rounds.get(&vet);
        let clinic = round
            .is_some_and(|round| round.clinic_days.split(' ').any(|key| key == WEEKDAYS[weekday(day)].0));
        // Of a vehicle that nobody has described, everything is believed.
        let equipment = match round {
            Some(round) => round.equipment.split(' ').map(str::to_owned).collect(),
            None => needs.to_vec(),
        };
        let stops = self.of(vet, day).map(|one| Stop {
            place: self.place_of(one),
            who: one.horse.clone(),
            from: one.starts_at,
            until: one.starts_at.plus_minutes(one.minutes),
        });
        Shift { vet: at, day, from, until, base: self.base(vet), clinic, equipment, stops: stops.collect() }
    }

    /// The best starts in the coming days.
    pub fn offers(&self, wish: &Wish<'_>) -> Vec<Offer> {
        let Some(place) = &wish.place else { return Vec::new() };
        let (ahead, wait_min) = self.roads.rules.patience(wish.class);
        let today = self.now.day(self.zone);
        let mut shifts = Vec::new();
        for day in (0..ahead).map(|n| today.plus_days(n)) {
            for (at, vet) in self.vets.iter().enumerate() {
                if wish.vet.is_none_or(|id| id == vet.id)
                    && let Some(hours) = self.hours(vet.id, day)
                {
                    shifts.push(self.shift(at, day, hours, wish.needs));
                }
            }
        }
        let in_clinic = place.is(&self.practice);
        let asked =
            Asked { place, in_clinic, minutes: wish.minutes, needs: wish.needs, now: self.now, wait_min };
        let found = starts(&self.roads, &shifts, &asked, |day, hour| day.at(hour, 0, self.zone), OFFERS);
        found.iter().map(|start| self.offer(start, wish.minutes, today)).collect()
    }

    fn offer(&self, start: &Start, minutes: i64, today: Day) -> Offer {
        let vet = &self.vets[start.vet];
        let day = match today.days_until(start.day) {
            0 => "today".to_owned(),
            1 => "tomorrow".to_owned(),
            _ => start.day.0.strftime("%a %-d %b").to_string(),
        };
        Offer {
            vet: vet.name.clone(),
            words: format!("{day} {}", start.from.hm(self.zone)),
            why: start.why(),
            take: take(vet.id, start.day, &start.from.hm(self.zone), minutes),
        }
    }

    /// Who can be with an emergency soonest.
    pub fn nearest(&self, place: Option<&Place>, minutes: i64) -> Vec<Near> {
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
        let duties: Vec<Duty<'_>> =
            shifts.iter().map(|(shift, on_duty)| Duty { vet: shift.vet, shift, on_duty: *on_duty }).collect();
        let found = reach(&self.roads, &duties, place, minutes, self.now);
        found.iter().take(NEAREST).map(|one| self.near(one, minutes, today)).collect()
    }

    fn near(&self, one: &Reach<'_>, minutes: i64, today: Day) -> Near {
        let vet = &self.vets[one.vet];
        let there = one.there.hm(self.zone);
        let busy = match one.busy {
            Some(stop) => format!("with {} until {}", stop.who, stop.until.hm(self.zone)),
            None => "free".to_owned(),
        };
        let duty = if one.on_duty { "" } else { "off duty; " };
        let words = match one.drive_min {
            Some(drive) => format!("{duty}{busy}, {drive} min from {}: there by {there}", one.from.name),
            None => format!("{duty}{busy} at {}; how far it is depends on the yard", one.from.name),
        };
        let over = one.there.plus_minutes(minutes);
        let moves = one.moves.iter().filter_map(|stop| {
            let booked = self.of(vet.id, today).find(|b| b.starts_at == stop.from)?;
            Some((booked.id, format!("{} at {}", stop.who, stop.from.hm(self.zone))))
        });
        let stands = one.moves.iter().any(|stop| stop.from < over);
        let take = (!stands && one.drive_min.is_some())
            .then(|| take(vet.id, one.there.day(self.zone), &there, minutes));
        Near { vet: vet.name.clone(), words, moves: moves.collect(), take }
    }
}

fn take(vet: StaffId, day: Day, time: &str, minutes: i64) -> String {
    format!("{vet}@{day}@{time}@{minutes}")
}

fn weekday(day: Day) -> usize {
    usize::try_from(day.0.weekday().to_monday_zero_offset()).unwrap_or_default()
}
