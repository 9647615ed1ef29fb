//! A leg from place to place: by distance, or by what the practice's own drives took.

use std::collections::HashMap;
use std::sync::Arc;

use super::{Place, Rules, distance::straight_km};

/// A drive that was made, by the keys of its ends.
#[derive(Clone, Debug)]
pub struct Drive {
    pub from: String,
    pub to: String,
    pub minutes: i64,
}

/// One leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    pub minutes: i64,
    /// None where a position is missing.
    pub km: Option<f64>,
    /// The median of drives instead of a distance.
    pub learned: bool,
}

/// Every leg that there can be.
#[derive(Clone, Debug)]
pub struct Roads {
    pub rules: Rules,
    learned: HashMap<Arc<str>, HashMap<Arc<str>, i64>>,
}

impl Roads {
    /// A leg counts as learned once it was driven often enough, whichever way.
    pub fn new(rules: Rules, drives: &[Drive]) -> Self {
        let mut taken: HashMap<(&str, &str), Vec<i64>> = HashMap::new();
        for drive in drives {
            taken.entry(in_order(&drive.from, &drive.to)).or_default().push(drive.minutes);
        }
        let mut learned: HashMap<Arc<str>, HashMap<Arc<str>, i64>> = HashMap::new();
        for ((from, to), mut minutes) in taken {
            if minutes.len() >= rules.learn_from.max(1) {
                learned.entry(from.into()).or_default().insert(to.into(), median(&mut minutes));
            }
        }
        Roads { rules, learned }
    }

    /// The leg between two places.
    pub fn leg(&self, from: &Place, to: &Place) -> Leg {
        if from.is(to) {
            return Leg { minutes: 0, km: Some(0.0), learned: false };
        }
        let km = from.spot.zip(to.spot).map(|(a, b)| straight_km(a, b) * self.rules.circuity);
        let (first, second) = in_order(&from.key, &to.key);
        if let Some(&minutes) = self.learned.get(first).and_then(|ends| ends.get(second)) {
            return Leg { minutes, km, learned: true };
        }
        let minutes = km.map_or(self.rules.unknown_min, |km| rounded_up(km / self.rules.speed_kmh * 60.0));
        Leg { minutes, km, learned: false }
    }

    /// From leaving one place to the first hand on a horse at the other: nothing within a yard.
    pub fn change(&self, from: &Place, to: &Place) -> i64 {
        if from.is(to) {
            return 0;
        }
        self.leg(from, to).minutes + self.rules.buffer_min + self.rules.setup_min
    }
}

fn in_order<'a>(one: &'a str, other: &'a str) -> (&'a str, &'a str) {
    if one <= other { (one, other) } else { (other, one) }
}

/// The middle; between two middles, what lies half way, rounded up.
fn median(minutes: &mut [i64]) -> i64 {
    minutes.sort_unstable();
    let middle = minutes.len() / 2;
    let upper = minutes.get(middle).copied().unwrap_or_default();
    if minutes.len() % 2 == 1 {
        return upper;
    }
    let lower = minutes.get(middle.saturating_sub(1)).copied().unwrap_or_default();
    (lower + upper + 1) / 2
}

/// Whole minutes that are surely enough. What is a hair above a whole one by rounding is that one.
#[expect(clippy::cast_possible_truncation, reason = "half the earth at walking pace fits; `as` saturates")]
fn rounded_up(minutes: f64) -> i64 {
    (minutes - 1e-9).ceil() as i64
}
