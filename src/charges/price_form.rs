//! A price as it is typed, and to what it belongs.

use serde::Deserialize;
use sqlx::SqlitePool;

use super::store::Price;
use crate::{
    catalogue::{
        catalogue,
        charges::{Apart, Charge, Unit},
    },
    clock::Day,
    formulary,
    ids::PriceId,
    reasoning::charges::read_money,
    web::{Check, Errors},
};

const MONEY: &str = "Enter a price such as 12.50, at most 1000000.";

/// What a price can be narrowed to: code and name, by what tells prices apart.
pub(super) struct Known {
    rows: Vec<(Apart, String, String)>,
}

impl Known {
    pub(super) async fn load(db: &SqlitePool) -> anyhow::Result<Self> {
        let known = catalogue();
        let kinds = known.road.kinds.iter().map(|row| (Apart::Kind, &row.code, &row.name));
        let blocks = known.blocks.iter().map(|row| (Apart::Block, &row.code, &row.name));
        let studies = known.diagnostics.studies.iter().map(|row| (Apart::Study, &row.code, &row.name));
        let shipped = kinds.chain(blocks).chain(studies);
        let mut rows: Vec<_> =
            shipped.map(|(apart, code, name)| (apart, code.clone(), name.clone())).collect();
        for kept in formulary::rows(db).await?.iter().filter(|kept| !kept.retired) {
            rows.push((Apart::Medicine, kept.code().to_owned(), kept.title()));
        }
        Ok(Known { rows })
    }

    /// Everything in words, for a list that filters as one types.
    pub(super) fn words(&self) -> Vec<String> {
        self.rows.iter().map(|(_, code, name)| words(name, code)).collect()
    }

    /// The name of what a price is narrowed to.
    pub(super) fn name(&self, charge: &str, code: &str) -> String {
        let apart = catalogue().charges.get(charge).map(|row| row.found.apart());
        let row = self.rows.iter().find(|(of, known, _)| Some(*of) == apart && known == code);
        row.map_or_else(|| code.to_owned(), |(_, _, name)| name.clone())
    }

    /// The code that is meant: the code, its words, or a name that only one has.
    fn read(&self, apart: Apart, typed: &str) -> Option<&str> {
        let typed = typed.to_lowercase();
        let of = || self.rows.iter().filter(|(of, _, _)| *of == apart);
        let exact = of().find(|(_, code, name)| {
            code.to_lowercase() == typed || words(name, code).to_lowercase() == typed
        });
        let mut named = of().filter(|(_, _, name)| name.to_lowercase() == typed);
        let only = named.next().filter(|_| named.next().is_none());
        exact.or(only).map(|(_, code, _)| code.as_str())
    }
}

fn words(name: &str, code: &str) -> String {
    format!("{name} ({code})")
}

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct PriceForm {
    pub submission: String,
    pub code: String,
    pub words: String,
    pub charge: String,
    pub of: String,
    pub up_to_km: String,
    pub unit: String,
    pub price: String,
    pub tax: String,
    pub valid_from: String,
}

impl PriceForm {
    pub(super) fn fresh(today: Day) -> Self {
        PriceForm { valid_from: today.to_string(), ..PriceForm::default() }
    }

    pub(super) fn check(&self, known: &Known, kept: &[Price]) -> Result<Price, Errors> {
        let mut c = Check::new();
        let code = c.needed("code", &self.code, 40, "Enter the code that your accounts know.");
        let words = c.needed("words", &self.words, 200, "Enter what stands on the line.");
        let charge = catalogue().charges.get(&self.charge);
        if charge.is_none() {
            c.errors.add("charge", "Choose what it is a price of.");
        }
        let unit = charge.and_then(|charge| self.unit(&mut c, charge));
        let of_what = charge.map_or_else(String::new, |charge| self.of(&mut c, known, charge));
        let up_to_km = charge.and_then(|charge| self.zone(&mut c, charge));
        let minor = read_money(&self.price);
        if minor.is_none() {
            c.errors.add("price", MONEY);
        }
        let tax = c.line("tax", &self.tax, 40);
        let valid_from = c.day("valid_from", &self.valid_from);
        if valid_from.is_none() && c.errors.on("valid_from").is_none() {
            c.errors.add("valid_from", "Enter the first day on which it holds.");
        }
        let (Some(charge), Some(unit), Some(minor), Some(valid_from)) = (charge, unit, minor, valid_from)
        else {
            return Err(c.errors);
        };
        let price = Price {
            id: PriceId::new(),
            code,
            words,
            charge: charge.code.clone(),
            of_what,
            up_to_km,
            unit,
            minor,
            tax,
            valid_from,
            ends_on: None,
        };
        if kept.iter().any(|other| other.rule().clashes(&price.rule())) {
            c.errors.add("charge", "A price of this is kept for that time: end it, or replace it.");
        }
        c.done(price)
    }

    /// The usual unit where none was chosen.
    fn unit(&self, c: &mut Check, charge: &Charge) -> Option<Unit> {
        if self.unit.is_empty() {
            return charge.units.first().copied();
        }
        let unit = self.unit.parse().ok().filter(|unit| charge.units.contains(unit));
        if unit.is_none() {
            let usual: Vec<&str> = charge.units.iter().map(|unit| unit.key()).collect();
            c.errors.add("unit", format!("This is counted in: {}.", usual.join(", ")));
        }
        unit
    }

    fn of(&self, c: &mut Check, known: &Known, charge: &Charge) -> String {
        let typed = c.line("of", &self.of, 200);
        if typed.is_empty() {
            return typed;
        }
        let apart = charge.found.apart();
        let read = known.read(apart, &typed);
        if read.is_none() {
            let none = matches!(apart, Apart::Nothing | Apart::Zone);
            let sentence =
                if none { "Leave this empty for such a price." } else { "Choose one of the list." };
            c.errors.add("of", sentence);
        }
        read.unwrap_or_default().to_owned()
    }

    fn zone(&self, c: &mut Check, charge: &Charge) -> Option<i64> {
        let typed = self.up_to_km.trim();
        if typed.is_empty() {
            return None;
        }
        if charge.found.apart() != Apart::Zone {
            c.errors.add("up_to_km", "Only a call-out has zones: leave this empty.");
            return None;
        }
        let km = typed.parse().ok().filter(|km| (1..=2000).contains(km));
        if km.is_none() {
            c.errors.add("up_to_km", "Enter whole kilometres from 1 to 2000.");
        }
        km
    }
}

/// A price that is ended, and perhaps replaced.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct EndForm {
    pub submission: String,
    pub ends_on: String,
    pub new_price: String,
}

impl EndForm {
    pub(super) fn fresh(today: Day) -> Self {
        EndForm { ends_on: today.to_string(), ..EndForm::default() }
    }

    /// From which day, and what holds from then on.
    pub(super) fn check(&self, old: &Price) -> Result<(Day, Option<Price>), Errors> {
        let mut c = Check::new();
        let from = c.day("ends_on", &self.ends_on);
        if from.is_none() && c.errors.on("ends_on").is_none() {
            c.errors.add("ends_on", "Enter the first day on which it does not hold any more.");
        }
        if from.is_some_and(|from| from < old.valid_from) {
            c.errors
                .add("ends_on", format!("It holds from {}: end it then or later.", old.valid_from.words()));
        }
        let minor = read_money(&self.new_price);
        if minor.is_none() && !self.new_price.trim().is_empty() {
            c.errors.add("new_price", MONEY);
        }
        let Some(from) = from else { return Err(c.errors) };
        let new = minor.map(|minor| Price {
            id: PriceId::new(),
            minor,
            valid_from: from,
            ends_on: None,
            ..old.clone()
        });
        c.done((from, new))
    }
}
