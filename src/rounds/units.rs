//! What is driven to once: one visit, or the visits of a shared stop one after the other.

use super::store::Booked;
use crate::{clock::At, visits::State};

pub struct Unit<'a> {
    /// By time; at least one.
    visits: Vec<&'a Booked>,
}

/// The units of a vet's day, by time.
pub fn units<'a>(booked: impl Iterator<Item = &'a Booked>) -> Vec<Unit<'a>> {
    let mut units: Vec<Unit<'a>> = Vec::new();
    for one in booked {
        let shares = |unit: &&mut Unit<'_>| one.stop_id.is_some() && unit.first().stop_id == one.stop_id;
        match units.last_mut().filter(shares) {
            Some(unit) => unit.visits.push(one),
            None => units.push(Unit { visits: vec![one] }),
        }
    }
    units
}

impl<'a> Unit<'a> {
    pub fn first(&self) -> &'a Booked {
        self.visits[0]
    }

    pub fn visits(&self) -> &[&'a Booked] {
        &self.visits
    }

    pub fn from(&self) -> At {
        self.first().starts_at
    }

    pub fn until(&self) -> At {
        let ends = self.visits.iter().map(|one| one.starts_at.plus_minutes(one.minutes));
        ends.max().unwrap_or(self.from())
    }

    pub fn minutes(&self) -> i64 {
        self.until().minutes_since(self.from())
    }

    /// "Briar", or "Briar and 3 more"
    pub fn who(&self) -> String {
        let name = &self.first().horse;
        match self.visits.len() {
            1 => name.clone(),
            count => format!("{name} and {} more", count - 1),
        }
    }

    /// None of it has begun.
    pub fn is_booked(&self) -> bool {
        self.visits.iter().all(|one| one.state == State::Booked)
    }

    pub fn is_promised(&self) -> bool {
        self.visits.iter().any(|one| one.promised)
    }

    /// Tells whether any of it was changed since.
    pub fn stamp(&self) -> i64 {
        self.visits.iter().map(|one| one.version).sum()
    }
}
