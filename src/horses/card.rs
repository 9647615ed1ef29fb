//! The head of every page about a horse.

use jiff::civil::Date;

use super::{Known, Sex, Status};
use crate::{
    biosecurity::Said,
    catalogue::catalogue,
    clock::Day,
    ids::{HorseId, YardId},
};

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
    /// The weight that it is reckoned with: `reasoning::weight::used`.
    pub kg: Option<f64>,
    /// The first party with the role of owner.
    pub owner: Option<String>,
    /// What is marked about it and the yard it stands at, a line each, as [`Said`] reads it.
    pub marks: Option<String>,
}

impl Card {
    /// The yard it stands at, unless that goes by its owner's name.
    pub fn yard_apart(&self) -> Option<&str> {
        self.yard.as_deref().filter(|yard| self.owner.as_deref() != Some(*yard))
    }

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
        let who = format!("{} {}", self.colour, self.sex_word(today));
        match self.age(today) {
            Some(age) => format!("{}, {age} y", who.trim()),
            None => who.trim().to_owned(),
        }
    }

    /// What others have to be kept safe from on a day, each with where it is looked after.
    pub fn marks(&self, day: Day) -> Vec<(String, String)> {
        let lines = self.marks.as_deref().unwrap_or_default().lines();
        let said = lines.filter_map(Said::read).filter(|said| said.holds_on(day));
        said.map(|said| {
            let whose = match self.yard_id.filter(|_| said.of_yard) {
                Some(yard) => format!("/yards/{yard}"),
                None => self.href(),
            };
            (format!("{whose}/biosecurity"), said.words())
        })
        .collect()
    }

    /// The horse's own page.
    pub fn href(&self) -> String {
        format!("/horses/{}", self.id)
    }

    /// The temperament warnings of this horse, as they stand at the point of use.
    pub fn warnings(&self) -> Vec<&'static str> {
        let list = &catalogue().horse.temperament;
        self.temperament
            .split_whitespace()
            .filter_map(|code| list.get(code))
            .map(|row| row.text.as_deref().unwrap_or(&row.name))
            .collect()
    }

    /// Whether the horse has a warning that is shown wherever hands go near it.
    pub fn needs_care(&self) -> bool {
        !self.temperament_note.is_empty() || !self.temperament.is_empty()
    }

    /// `Retired since 3 Feb 2026.`; nothing while the horse is simply here.
    pub fn status_words(&self) -> Option<String> {
        if self.status == Status::Here {
            return None;
        }
        let since = self.status_on.map_or_else(String::new, |day| format!(" since {}", day.words()));
        Some(match self.status {
            Status::Here => String::new(),
            Status::Sold => format!("Sold{since}."),
            Status::Retired => format!("Retired{since}."),
            Status::Dead => format!("Dead{since}."),
        })
    }

    /// The same for a horse that is no longer seen.
    pub fn gone_words(&self) -> Option<String> {
        if self.status.is_seen() { None } else { self.status_words() }
    }

    pub fn food_chain_words(&self) -> &'static str {
        match self.food_chain.as_str() {
            "eligible" => "Food chain: may be slaughtered for food",
            "excluded" => "Food chain: excluded for life",
            _ => "Food chain: not known, treat as food-producing",
        }
    }
}
