//! Horses: who each one is, where it stands, who belongs to it, and whether it is still here.

pub mod store;

use jiff::civil::Date;

use crate::{
    catalogue::catalogue,
    clock::Day,
    ids::{ClientId, HorseId, YardId},
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

    /// What is said of a horse that is not simply here.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Status::Here => None,
            Status::Sold => Some("sold"),
            Status::Retired => Some("retired"),
            Status::Dead => Some("dead"),
        }
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
        let since = self.status_on.map_or_else(String::new, |day| format!(" {}", day.words()));
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

/// A horse as it is entered and edited; who belongs to it, its weights and its status have their own forms.
#[derive(Debug, Clone)]
pub struct Details {
    pub name: String,
    pub stable_name: String,
    pub sex: Sex,
    pub neutered: Known,
    /// `YYYY`, `YYYY-MM-DD` or empty.
    pub born: String,
    pub breed: String,
    /// The catalogue's code, when the breed is one of its list.
    pub breed_code: Option<String>,
    pub colour: String,
    pub markings: String,
    pub height_cm: Option<f64>,
    pub work_use: String,
    pub work_level: String,
    pub microchip: String,
    pub microchip_other: String,
    pub ueln: String,
    pub passport: String,
    /// `eligible`, `excluded` or `unknown`.
    pub food_chain: String,
    pub insurance: String,
    /// Catalogue codes separated by blanks.
    pub temperament: String,
    pub temperament_note: String,
    pub yard_id: Option<YardId>,
}

impl Details {
    /// A horse of which only the name is known yet.
    pub fn named(name: &str) -> Self {
        Details {
            name: name.to_owned(),
            stable_name: String::new(),
            sex: Sex::Unknown,
            neutered: Known::Unknown,
            born: String::new(),
            breed: String::new(),
            breed_code: None,
            colour: String::new(),
            markings: String::new(),
            height_cm: None,
            work_use: String::new(),
            work_level: String::new(),
            microchip: String::new(),
            microchip_other: String::new(),
            ueln: String::new(),
            passport: String::new(),
            food_chain: "unknown".into(),
            insurance: String::new(),
            temperament: String::new(),
            temperament_note: String::new(),
            yard_id: None,
        }
    }
}

/// What a client is to a horse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, sqlx::Type)]
#[sqlx(rename_all = "lowercase")]
pub enum PartyRole {
    Owner,
    Trainer,
    Agent,
    Keeper,
    Rider,
    Farrier,
}

/// A client who belongs to a horse, and what they may and get.
#[derive(Debug, Clone)]
pub struct NewParty {
    pub client: ClientId,
    pub role: PartyRole,
    pub may_authorise: bool,
    pub pays: bool,
    pub gets_reports: bool,
}

impl NewParty {
    /// The owner who decides, pays and is told: what a call usually begins with.
    pub fn owner(client: ClientId) -> Self {
        NewParty { client, role: PartyRole::Owner, may_authorise: true, pays: true, gets_reports: true }
    }
}
