//! Which horse has what when: the courses that are cast, and chance for the rest.

use anyhow::Context;

use super::{
    calendar::{Calendar, Slot},
    course::{Cast, Course, Courses, Step},
    dice::Dice,
    horses::Horse,
    today::Today,
};
use crate::{clock::Day, visits::State};

/// A horse that has been seen about this often, at least sixty times in any case, makes the longest history.
const OFTEN: i64 = 66;
const OFTEN_SEEN: &str = "Tarrow Gate";
/// Visits are booked ahead for so many days.
const BOOKED_AHEAD: i64 = 21;
/// Chance may still be at work two days ago.
const ONGOING: i64 = 2;
/// How many visits a hundred courses of chance come to.
const VISITS_A_COURSE: i64 = 135;
/// The days of a short course: a horse that is seen often has no long ones.
const SHORT: i64 = 30;

/// One visit that is to be written.
pub(super) struct Planned {
    pub slot: Slot,
    pub horse: usize,
    pub step: Step,
    pub minutes: i64,
    pub urgent: bool,
    pub state: State,
    /// To whom it is handed over, and with which words.
    pub handed_to: Option<(usize, String)>,
}

/// Everything that is planned, and the means to plan more.
pub(super) struct Planner<'a> {
    pub courses: &'a Courses,
    pub horses: &'a [Horse],
    pub today: Day,
    pub calendar: Calendar,
    pub dice: Dice,
    pub planned: Vec<Planned>,
}

impl<'a> Planner<'a> {
    /// All visits of `years` back, and what is booked ahead, in the order of time.
    pub(super) fn all(mut self, years: i64, day: &Today) -> anyhow::Result<Vec<Planned>> {
        for left in day.left_open() {
            let slot = self.calendar.take(left.vet, self.today.plus_days(-left.ago), left.minutes);
            self.planned.push(left.planned(self.horses, self.courses, slot)?);
        }
        self.planned.extend(day.eight(self.horses, self.courses, self.today)?);
        for cast in &self.courses.cast {
            self.cast(cast, day)?;
        }
        for index in 0..self.horses.len() {
            self.chance(index, years * 365, day);
        }
        self.ahead(day);
        self.planned.sort_by_key(|p| (p.slot.day, p.slot.minute));
        Ok(self.planned)
    }

    fn cast(&mut self, cast: &Cast, day: &Today) -> anyhow::Result<()> {
        let horse = index_of(self.horses, &cast.horse)?;
        let vet = usize::try_from(self.dice.between(0, 2)).unwrap_or(0);
        for (number, step) in self.courses.get(&cast.course)?.step.iter().enumerate() {
            if !day.has(&cast.horse, &cast.course, number) {
                self.visit(horse, &turned(step, cast.right), cast.began - step.day, vet);
            }
        }
        Ok(())
    }

    /// Runs of courses by chance, one after the other, until something that is cast begins or the horse is gone.
    fn chance(&mut self, index: usize, days: i64, day: &Today) {
        let horse = &self.horses[index];
        let end = self.end_of_chance(horse, day);
        let often = horse.name == OFTEN_SEEN;
        let (mut ago, mut seen) = (days - self.dice.between(5, 120), 0);
        while ago > end {
            let Some(course) = self.draw(horse.age, if often { SHORT } else { i64::MAX }) else { return };
            let right = self.dice.percent(50);
            let vet = usize::try_from(self.dice.between(0, 2)).unwrap_or(0);
            for step in course.step.iter().filter(|step| ago - step.day > end || end == ONGOING) {
                self.visit(index, &turned(step, right), ago - step.day, vet);
                seen += 1;
            }
            let length = course.step.last().map_or(0, |step| step.day);
            ago -= if often {
                self.short_turn(ago, seen).max(length + 2)
            } else {
                length + self.dice.between(70, 260)
            };
        }
    }

    /// What the desk has booked for the next days besides rechecks.
    fn ahead(&mut self, day: &Today) {
        let busy: Vec<usize> =
            self.planned.iter().filter(|p| p.slot.day >= self.today).map(|p| p.horse).collect();
        for index in 0..self.horses.len() {
            let horse = &self.horses[index];
            let free = horse.fate.is_none() && !day.expects(&horse.name) && !busy.contains(&index);
            if free && self.dice.percent(30) {
                let Some(course) = self.draw(horse.age, i64::MAX) else { continue };
                let ago = -self.dice.between(1, 12);
                let right = self.dice.percent(50);
                if let Some(step) = course.step.first().filter(|step| !step.urgent) {
                    self.visit(index, &turned(step, right), ago, index % 3);
                }
            }
        }
    }

    /// Days ago after which nothing happens to this horse by chance.
    fn end_of_chance(&self, horse: &Horse, day: &Today) -> i64 {
        let cast = self.courses.cast.iter().filter(|c| c.horse == horse.name).map(|c| c.began + 30);
        let gone = horse.fate.map(|(_, ago)| ago);
        let expected = day.expects(&horse.name).then_some(20);
        cast.chain(gone).chain(expected).max().unwrap_or(ONGOING)
    }

    /// From one course to the next, so that the horse comes to [`OFTEN`] visits by today.
    fn short_turn(&mut self, left: i64, seen: i64) -> i64 {
        let courses = ((OFTEN - seen) * 100 / VISITS_A_COURSE).max(1);
        (left / courses).clamp(3, 60) + self.dice.between(-1, 1)
    }

    /// A course that suits the age and takes no longer than `longest` days.
    fn draw(&mut self, age: i16, longest: i64) -> Option<&'a Course> {
        let courses = self.courses;
        let short = |c: &Course| c.step.last().is_some_and(|step| step.day <= longest);
        let fits = |c: &&Course| c.weight > 0 && (c.ages.0..=c.ages.1).contains(&age) && short(c);
        let all: i64 = courses.course.iter().filter(fits).map(|c| c.weight).sum();
        let mut left = self.dice.between(1, all.max(1));
        courses.course.iter().filter(fits).find(|c| {
            left -= c.weight;
            left <= 0
        })
    }

    /// Puts a visit on the calendar; what lies too far ahead stays a follow-up.
    fn visit(&mut self, horse: usize, step: &Step, ago: i64, vet: usize) {
        if ago < -BOOKED_AHEAD {
            return;
        }
        let minutes = step.minutes();
        let wish = Slot { vet, day: self.today.plus_days(-ago), minute: 0 };
        let wish = if ago == 0 { Slot { day: self.today.plus_days(-1), ..wish } } else { wish };
        let Some(slot) = self.calendar.book(wish, minutes, &mut self.dice) else { return };
        let missed = ago > 40 && !step.urgent && self.dice.percent(2);
        let state = match (ago < 0, missed) {
            (true, _) => State::Booked,
            (false, true) => State::DidNotCome,
            (false, false) => State::Signed,
        };
        let urgent = step.urgent;
        self.planned.push(Planned {
            slot,
            horse,
            step: step.clone(),
            minutes,
            urgent,
            state,
            handed_to: None,
        });
    }
}

fn turned(step: &Step, right: bool) -> Step {
    if right { step.flipped() } else { step.clone() }
}

pub(super) fn index_of(horses: &[Horse], name: &str) -> anyhow::Result<usize> {
    horses.iter().position(|h| h.name == name).with_context(|| format!("there is no horse {name}"))
}
