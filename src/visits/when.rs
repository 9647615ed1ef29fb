//! When and with whom: the part of a form that the call and a move share, and the free times it offers.

use jiff::tz::TimeZone;
use sqlx::SqlitePool;

use super::{
    State,
    store::day::{self, Line},
};
use crate::{
    accounts::store::Staff,
    clock::{At, Day},
    ids::{StaffId, VisitId, YardId},
    web::Check,
};

/// Between these hours free times are offered; any other time can be typed.
const FIRST_HOUR: i64 = 8;
const LAST_HOUR: i64 = 18;
/// Minutes from one offered time to the next.
const STEP: i64 = 30;
/// With more vets than this only the chosen one's times are shown.
const MOST_LANES: usize = 4;
/// How long visits usually are; any of these is one tap.
pub const LENGTHS: [i64; 6] = [20, 30, 45, 60, 90, 120];
pub const USUAL_LENGTH: i64 = 45;

/// As typed and tapped.
#[derive(Debug, Clone, Default)]
pub struct WhenForm {
    pub vet: String,
    /// A free time that was tapped: vet and time, `id@09:30`.
    pub slot: String,
    pub day: String,
    /// A time that was typed; it goes before a tapped one.
    pub start: String,
    pub minutes: String,
}

/// As meant.
#[derive(Debug, Clone, Copy)]
pub struct When {
    pub vet: StaffId,
    pub starts_at: At,
    pub minutes: i64,
    /// The field that says the time, for errors that only the database finds.
    pub field: &'static str,
}

/// What a time is checked against.
pub struct Basis<'a> {
    pub vets: &'a [Staff],
    pub now: At,
    pub zone: &'a TimeZone,
}

/// The free times of one vet.
#[derive(Debug, Clone)]
pub struct Lane {
    pub vet: StaffId,
    pub name: String,
    pub free: Vec<String>,
}

impl WhenForm {
    /// Takes what the button of an offered start says: vet, day, time and minutes.
    pub fn take(&mut self, said: &str) {
        if let [vet, day, time, minutes, ..] = said.split('@').collect::<Vec<_>>()[..] {
            vet.clone_into(&mut self.vet);
            day.clone_into(&mut self.day);
            minutes.clone_into(&mut self.minutes);
            self.slot = format!("{vet}@{time}");
            self.start.clear();
        }
    }

    /// The day whose free times are shown: what was typed where it can be read.
    pub fn day_shown(&self, today: Day) -> Day {
        Check::new().day("day", &self.day).unwrap_or(today).max(today)
    }

    pub fn check(&self, check: &mut Check, basis: &Basis<'_>) -> Option<When> {
        let today = basis.now.day(basis.zone);
        let before = check.errors.all().len();
        let day = check.day("day", &self.day);
        if day.is_none() && check.errors.on("day").is_none() {
            check.errors.add("day", "Choose a day.");
        }
        let minutes = self.length(check);
        let (vet, time, field) = self.vet_and_time(check, basis)?;
        let (day, minutes) = (day?, minutes?);
        if day < today {
            check.errors.add("day", format!("{} is over. Choose today or a later day.", day.words()));
            return None;
        }
        let starts_at = match instant(day, time, basis.zone) {
            Ok(at) => at,
            Err(sentence) => {
                check.errors.add(field, sentence);
                return None;
            }
        };
        if basis.now.minutes_since(starts_at) > STEP {
            let now = basis.now.hm(basis.zone);
            check.errors.add(field, format!("That time is past: it is {now} now. Choose a later one."));
        }
        (check.errors.all().len() == before).then_some(When { vet, starts_at, minutes, field })
    }

    fn length(&self, check: &mut Check) -> Option<i64> {
        let minutes =
            check.choice::<i64>("minutes", &self.minutes, "Choose how long it takes, in minutes.")?;
        if (5..=720).contains(&minutes) {
            return Some(minutes);
        }
        check.errors.add("minutes", "A visit takes from 5 minutes to 12 hours.");
        None
    }

    fn vet_and_time(
        &self,
        check: &mut Check,
        basis: &Basis<'_>,
    ) -> Option<(StaffId, (i8, i8), &'static str)> {
        if self.start.trim().is_empty() {
            let Some((vet, time)) = self.slot.split_once('@') else {
                check.errors.add("slot", "Choose a free time, or type one.");
                return None;
            };
            let vet = known_vet(check, basis, "slot", vet);
            let time = check.time("slot", time);
            return Some((vet?, time?, "slot"));
        }
        let vet = known_vet(check, basis, "vet", &self.vet);
        let time = check.time("start", &self.start);
        Some((vet?, time?, "start"))
    }
}

fn known_vet(check: &mut Check, basis: &Basis<'_>, field: &str, picked: &str) -> Option<StaffId> {
    let vet = check.choice::<StaffId>(field, picked, "Choose a vet.")?;
    if basis.vets.iter().any(|v| v.id == vet) {
        return Some(vet);
    }
    check.errors.add(field, "Choose a vet who works here.");
    None
}

/// The instant of a wall-clock time, unless the clocks skip it that day.
fn instant(day: Day, (hour, minute): (i8, i8), zone: &TimeZone) -> Result<At, String> {
    let at = day.at(hour, minute, zone);
    if at.hm(zone) == format!("{hour:02}:{minute:02}") {
        return Ok(at);
    }
    Err(format!(
        "There is no {hour:02}:{minute:02} on {}: the clocks are put forward then. Choose an earlier or later time.",
        day.words()
    ))
}

/// What a time is looked for: so many horses one after the other, and the visits that it is about.
#[derive(Debug, Clone, Copy)]
pub struct Looked<'a> {
    pub horses: usize,
    pub moving: &'a [VisitId],
}

/// The free times of the vets that the form asks for, on its day.
pub async fn lanes(
    db: &SqlitePool,
    form: &WhenForm,
    basis: &Basis<'_>,
    looked: Looked<'_>,
) -> sqlx::Result<Vec<Lane>> {
    let day = form.day_shown(basis.now.day(basis.zone));
    let minutes = form.minutes.parse().unwrap_or(USUAL_LENGTH).clamp(5, 720)
        * i64::try_from(looked.horses).unwrap_or(1).max(1);
    let chosen: Option<StaffId> = form.vet.parse().ok();
    // A visit of the evening before may reach into the morning.
    let from = day.plus_days(-1).start(basis.zone);
    let mut lines = day::between(db, from, day.plus_days(1).start(basis.zone)).await?;
    lines.retain(|l| {
        !l.walk_in
            && !matches!(l.state, State::Cancelled | State::DidNotCome)
            && !looked.moving.contains(&l.id)
    });
    let all = basis.vets.len() <= MOST_LANES;
    let shown = basis.vets.iter().filter(|v| chosen.map_or(all, |id| id == v.id));
    Ok(shown
        .map(|v| Lane { vet: v.id, name: v.name.clone(), free: free(&lines, v.id, day, minutes, basis) })
        .collect())
}

fn free(lines: &[Line], vet: StaffId, day: Day, minutes: i64, basis: &Basis<'_>) -> Vec<String> {
    let first = day.at(i8::try_from(FIRST_HOUR).unwrap_or_default(), 0, basis.zone);
    let steps = (LAST_HOUR - FIRST_HOUR) * 60 / STEP;
    (0..steps)
        .map(|n| first.plus_minutes(n * STEP))
        .filter(|at| basis.now.minutes_since(*at) <= 0)
        .filter(|at| {
            let until = at.plus_minutes(minutes);
            !lines.iter().any(|l| l.vet_id == Some(vet) && l.starts_at < until && l.ends_at() > *at)
        })
        .map(|at| at.hm(basis.zone))
        .collect()
}

/// What stands in the way, in words for the field.
pub fn taken(line: &Line, zone: &TimeZone) -> String {
    format!(
        "{} is with {} from {} to {} then ({}). Choose a free time.",
        line.vet.as_deref().unwrap_or("The vet"),
        line.horse,
        line.starts_at.hm(zone),
        line.ends_at().hm(zone),
        line.where_()
    )
}

/// Days that are one tap away.
pub fn near_days(today: Day) -> Vec<(Day, String)> {
    (0..5)
        .map(|n| (today.plus_days(n), n))
        .map(|(day, n)| match n {
            0 => (day, "today".into()),
            1 => (day, "tomorrow".into()),
            _ => (day, day.0.strftime("%a %-d").to_string()),
        })
        .collect()
}

/// The vets to choose from; with several, any of them may do.
pub fn vet_options(vets: &[Staff]) -> Vec<(String, &str)> {
    let anyone = (vets.len() > 1).then_some((String::new(), "any"));
    anyone.into_iter().chain(vets.iter().map(|v| (v.id.to_string(), v.name.as_str()))).collect()
}

/// The usual lengths, and the one that is chosen.
pub fn lengths(chosen: &str) -> Vec<(i64, String)> {
    let mut lengths = LENGTHS.to_vec();
    lengths.extend(chosen.parse::<i64>().ok().filter(|n| (5..=720).contains(n)));
    lengths.sort_unstable();
    lengths.dedup();
    lengths.into_iter().map(|minutes| (minutes, format!("{minutes} min"))).collect()
}

/// The places nearest to a horse, the clinic last.
pub fn place_options(yards: &[(YardId, String)]) -> Vec<(String, &str)> {
    let yards = yards.iter().take(6).map(|(id, name)| (id.to_string(), name.as_str()));
    yards.chain(std::iter::once(("clinic".into(), "clinic"))).collect()
}
