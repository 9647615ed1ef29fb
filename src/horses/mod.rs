//! Horses: who each one is, where it stands, who belongs to it, and whether it is still here.

mod card;
mod chart;
mod condition;
mod form;
mod kinds;
mod list;
mod measure;
mod pages;
mod parties;
mod status;
pub mod store;
mod weights;

use axum::{
    Router,
    routing::{get, post},
};

pub use card::Card;
pub use kinds::{Known, PartyRole, Sex, Status};
pub use measure::{height_words, weight_words};
pub use weights::{Dosing, dosing};
pub(crate) use {
    form::breed_code,
    measure::{born, height},
};

use crate::{
    App,
    ids::{ClientId, YardId},
};

pub fn router() -> Router<App> {
    Router::new()
        .route("/horses", get(list::page).post(pages::create))
        .route("/horses/new", get(pages::new_page))
        .route("/horses/{id}", get(pages::page).post(pages::change))
        .route("/horses/{id}/edit", get(pages::edit_page))
        .route("/horses/{id}/weights", get(weights::page).post(weights::add))
        .route("/horses/{id}/condition", post(condition::add))
        .route("/horses/{id}/parties", get(parties::page).post(parties::add))
        .route("/horses/{id}/parties/{party}/remove", post(parties::remove))
        .route("/horses/{id}/status", get(status::page).post(status::change))
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
