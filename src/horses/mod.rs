//! Horses: who each one is, where it stands, who belongs to it, and whether it is still here.

pub mod store;

use jiff::civil::Date;

use crate::{
    clock::Day,
    ids::{HorseId, YardId},
};

#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Sex {
    Male,
    Female,
    Unknown,
}

/// A question that may be unanswered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Known {
    Yes,
    No,
    Unknown,
}

/// Whether the horse is still with us. A horse that is sold or dead stops reminders, bookings and sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum Status {
    Here,
    Sold,
    Retired,
    Dead,
}

impl Status {
    /// Whether visits may be booked and reminders go out. A retired horse is still looked after.
    pub fn is_seen(self) -> bool {
        matches!(self, Status::Here | Status::Retired)
    }
}

/// What stands at the top of every page about a horse, and wherever hands go near it.
#[derive(Debug, Clone)]
pub struct Card {
    pub id: HorseId,
    pub name: String,
    pub stable_name: String,
    pub sex: Sex,
    pub neutered: Known,
    /// `YYYY`, `YYYY-MM-DD` or empty.
    pub born: String,
    pub breed: String,
    pub colour: String,
    pub status: Status,
    pub status_on: Option<Day>,
    /// `eligible`, `excluded` or `unknown`.
    pub food_chain: String,
    pub insurance: String,
    /// Catalogue codes separated by blanks.
    pub temperament: String,
    pub temperament_note: String,
    pub yard_id: Option<YardId>,
    pub yard: Option<String>,
    /// The newest weight.
    pub kg: Option<f64>,
    /// The first party with the role of owner.
    pub owner: Option<String>,
}

impl Card {
    /// Mare, gelding, stallion; colt and filly below four years.
    pub fn sex_word(&self, today: Day) -> &'static str {
        let young = self.age(today).is_some_and(|years| years < 4);
        match (self.sex, self.neutered) {
            (Sex::Male, Known::Yes) => "gelding",
            (Sex::Male, _) if young => "colt",
            (Sex::Male, Known::No) => "stallion",
            (Sex::Male, Known::Unknown) => "male",
            (Sex::Female, Known::Yes) => "spayed mare",
            (Sex::Female, _) if young => "filly",
            (Sex::Female, _) => "mare",
            (Sex::Unknown, _) => "horse",
        }
    }

    /// Whole years, from a date or a year of birth.
    pub fn age(&self, today: Day) -> Option<i16> {
        let today = today.0;
        if let Ok(born) = self.born.parse::<Date>() {
            let before = (today.month(), today.day()) < (born.month(), born.day());
            return Some(today.year() - born.year() - i16::from(before));
        }
        self.born.parse::<i16>().ok().map(|year| today.year() - year)
    }

    /// `bay gelding, 9 y`
    pub fn line(&self, today: Day) -> String {
        let mut line = format!("{} {}", self.colour, self.sex_word(today)).trim().to_owned();
        if let Some(age) = self.age(today) {
            line.push_str(&format!(", {age} y"));
        }
        line
    }
}
