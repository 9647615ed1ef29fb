//! Roads, days and routes: how far it is, how long a drive takes, where a visit fits into the days of the vets, and in
//! which order a day is driven best.
//!
//! Times are instants, so that a day on which the clocks change is as long as it is. Minutes of driving are whole and
//! rounded up: nobody is promised a part of a minute.

mod distance;
mod emergency;
mod legs;
mod order;
mod slots;

use std::sync::Arc;

use crate::catalogue::{Urgency, catalogue};

pub use distance::{EARTH_KM, Spot, minutes, road_km, straight_km};
pub use emergency::{Duty, Reach, reach};
pub use legs::{Drive, Leg, Roads};
pub use order::{Course, MOST_STOPS, Plan, Visit, as_booked, best, carries_on};
pub use slots::{Asked, Beside, Shift, Start, Stop, starts};

/// Where a vet or a horse can be. Two with one key are the same place.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    pub key: Arc<str>,
    pub name: Arc<str>,
    /// None where nobody has entered a position.
    pub spot: Option<Spot>,
}

impl Place {
    pub fn new(key: &str, name: &str, spot: Option<Spot>) -> Self {
        Place { key: key.into(), name: name.into(), spot }
    }

    pub fn is(&self, other: &Place) -> bool {
        self.key == other.key
    }
}

/// The numbers that days are reckoned with: shipped ones, or the practice's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Rules {
    pub circuity: f64,
    pub speed_kmh: f64,
    pub buffer_min: i64,
    pub setup_min: i64,
    pub unknown_min: i64,
    pub grid_min: i64,
    pub learn_from: usize,
    pub late_over_min: i64,
    own: Vec<(String, f64)>,
}

impl Rules {
    pub fn shipped() -> Self {
        Rules::with(Vec::new())
    }

    /// The shipped numbers with the practice's own, by code, in the place of some.
    pub fn with(own: Vec<(String, f64)>) -> Self {
        let mut rules = Rules {
            circuity: 0.0,
            speed_kmh: 0.0,
            buffer_min: 0,
            setup_min: 0,
            unknown_min: 0,
            grid_min: 0,
            learn_from: 0,
            late_over_min: 0,
            own,
        };
        rules.circuity = rules.get("circuity");
        rules.speed_kmh = rules.get("speed_kmh");
        rules.buffer_min = rules.whole("buffer_min");
        rules.late_over_min = rules.whole("late_over_min");
        rules.setup_min = rules.whole("setup_min");
        rules.unknown_min = rules.whole("unknown_min");
        rules.grid_min = rules.whole("grid_min").max(1);
        rules.learn_from = usize::try_from(rules.whole("learn_from")).unwrap_or_default();
        rules
    }

    /// A number by its code.
    pub fn get(&self, code: &str) -> f64 {
        self.own
            .iter()
            .find(|(own, _)| own == code)
            .map_or_else(|| catalogue().road.value(code), |(_, value)| *value)
    }

    /// The same in whole minutes or days.
    pub fn whole(&self, code: &str) -> i64 {
        whole(self.get(code))
    }

    /// How many days are looked at for a class, and how many minutes of driving one day sooner is worth.
    pub fn patience(&self, class: Urgency) -> (i64, i64) {
        let name = match class {
            Urgency::Now | Urgency::SameDay => "today",
            Urgency::Days => "days",
            Urgency::Routine => "routine",
        };
        (self.whole(&format!("ahead_{name}")), self.whole(&format!("wait_{name}_min")))
    }
}

/// Rounded to whole, for numbers that are small by their bounds.
#[expect(clippy::cast_possible_truncation, reason = "bounded figures; `as` saturates")]
fn whole(value: f64) -> i64 {
    value.round() as i64
}
