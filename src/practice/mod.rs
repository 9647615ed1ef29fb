//! The practice itself: its first-run page, its settings, its staff, its tablets, its own words and weights, what callers
//! are told, and everybody's own account.

pub mod advice;
mod first_password;
mod lost_device;
mod me;
mod member;
pub mod menu;
mod pages;
mod set_up;
mod settings;
mod staff;
pub mod store;
mod tablets;
pub mod weights;
pub mod words;
mod zones;

use axum::{
    Router,
    routing::{get, post},
};
use jiff::tz::TimeZone;

use crate::App;
use settings::{HEIGHT_UNITS, TEMPERATURE_UNITS, WEIGHT_UNITS};
pub use zones::here as zone_here;

/// The one page that is there before anybody can sign in.
pub fn public() -> Router<App> {
    Router::new().route("/set-up", get(set_up::show).post(set_up::set_up))
}

pub fn router() -> Router<App> {
    words::router()
        .merge(weights::router())
        .merge(advice::router())
        .route("/practice", get(pages::show).post(pages::change))
        .route("/practice/tablets", get(tablets::show))
        .route("/practice/staff", get(staff::list).post(staff::add))
        .route("/practice/staff/{id}", get(member::show).post(member::change))
        .route("/practice/staff/{id}/password", post(member::set_password))
        .route("/practice/staff/{id}/leave", post(member::leave))
        .route("/practice/staff/{id}/return", post(member::come_back))
        .route("/practice/staff/{id}/second-factor/remove", post(lost_device::take_away))
        .route("/practice/staff/{id}/sessions/{session}/end", post(member::end_session))
        .route("/me", get(me::show))
        .route("/me/password", post(me::set_password))
        .route("/me/first-password", get(first_password::show).post(first_password::choose))
        .route("/me/pin", post(me::set_pin))
        .route("/me/sessions/{session}/end", post(me::end_session))
}

/// How the practice works and shows things.
#[derive(Debug, Clone)]
pub struct Practice {
    pub name: String,
    pub zone: TimeZone,
    pub zone_name: String,
    pub weight_unit: String,
    pub height_unit: String,
    pub temperature_unit: String,
    pub lameness_scale: String,
    pub exam_order: String,
    /// Made by the demonstration: every page says so.
    pub invented: bool,
    pub version: i64,
}

impl Practice {
    /// Before anything is set: metric, by the clock of nowhere.
    pub fn blank() -> Self {
        Practice {
            name: String::new(),
            zone: TimeZone::UTC,
            zone_name: String::new(),
            weight_unit: "kg".to_owned(),
            height_unit: "cm".to_owned(),
            temperature_unit: "c".to_owned(),
            lameness_scale: String::new(),
            exam_order: String::new(),
            invented: false,
            version: 0,
        }
    }
}
