//! A line of the register as it is typed, and what is meant.

use serde::Deserialize;

use super::{store::NewLine, ul_of_ml};
use crate::{
    clock::Day,
    ids::{LineId, StaffId, StoreId},
    web::Check,
};

pub(super) const WHATS: [(&str, &str); 5] = [
    ("receipt", "received"),
    ("transfer", "moved to another place"),
    ("count", "counted"),
    ("waste", "wasted"),
    ("adjustment", "set the book to what is there"),
];

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub what: String,
    pub medicine: String,
    pub strength: String,
    pub ml: String,
    pub batch: String,
    pub expires: String,
    pub to: String,
    pub witness: String,
    pub reason: String,
    /// Of a new place.
    pub name: String,
    pub kind: String,
}

/// What the form may name.
pub(super) struct Known<'a> {
    pub medicines: &'a [(String, String)],
    pub others: Vec<StoreId>,
    /// Whoever may witness: not the one who writes.
    pub witnesses: Vec<StaffId>,
    pub today: Day,
}

impl Typed {
    /// The lines that are meant; a transfer makes two. `balance` is asked for what the book has of the drug.
    pub(super) fn check(&self, c: &mut Check, store: StoreId, known: &Known<'_>) -> Option<Meant> {
        let what = WHATS.iter().find(|(key, _)| *key == self.what).map(|(key, _)| *key);
        if what.is_none() {
            c.errors.add("what", "Choose what happened.");
        }
        let medicine =
            known.medicines.iter().find(|(code, _)| *code == self.medicine).map(|(code, _)| code.clone());
        if medicine.is_none() {
            c.errors.add("medicine", "Choose the drug.");
        }
        let strength = needed(c, "strength", &self.strength, 0.001..=2000.0, "mg/ml");
        let ml = needed(c, "ml", &self.ml, 0.0..=100_000.0, "ml");
        if ml == Some(0.0) && !matches!(what, Some("count" | "adjustment")) {
            c.errors.add("ml", "Enter more than 0.");
        }
        let batch = c.line("batch", &self.batch, 100);
        let expires_on = c.day("expires", &self.expires);
        let reason = c.line("reason", &self.reason, 300);
        let to = self.to.parse::<StoreId>().ok().filter(|to| known.others.contains(to));
        if what == Some("transfer") && to.is_none() {
            c.errors.add("to", "Choose where it went.");
        }
        let witness = self.witness.parse::<StaffId>().ok().filter(|who| known.witnesses.contains(who));
        if matches!(what, Some("count" | "waste" | "adjustment")) && witness.is_none() {
            c.errors.add("witness", "Choose who saw it: somebody other than you.");
        }
        if matches!(what, Some("waste" | "adjustment"))
            && reason.is_empty()
            && c.errors.on("reason").is_none()
        {
            c.errors.add("reason", "Say why.");
        }
        if what == Some("receipt") && expires_on.is_some_and(|day| day < known.today) {
            c.errors.add("expires", "This day is past: it is not taken into stock.");
        }
        let (what, medicine, strength, ml) = (what?, medicine?, strength?, ml?);
        c.errors.is_empty().then_some(Meant {
            what,
            store,
            medicine,
            strength,
            ul: ul_of_ml(ml),
            batch,
            expires_on,
            to,
            witness,
            reason,
        })
    }
}

/// A form that can be kept.
pub(super) struct Meant {
    pub what: &'static str,
    pub store: StoreId,
    pub medicine: String,
    pub strength: f64,
    pub ul: i64,
    pub batch: String,
    pub expires_on: Option<Day>,
    pub to: Option<StoreId>,
    pub witness: Option<StaffId>,
    pub reason: String,
}

impl Meant {
    /// The lines of the register, with what the book has of the drug just before.
    pub(super) fn lines(self, balance_ul: i64) -> Vec<NewLine> {
        let line = |store, what, ul| NewLine {
            batch: self.batch.clone(),
            expires_on: self.expires_on,
            witness: self.witness,
            reason: self.reason.clone(),
            ..NewLine::new(store, &self.medicine, self.strength, what, ul)
        };
        match (self.what, self.to) {
            ("transfer", Some(to)) => {
                let (out, into) = (LineId::new(), LineId::new());
                vec![
                    NewLine { id: out, pair: Some(into), ..line(self.store, "out", -self.ul) },
                    NewLine { id: into, pair: Some(out), ..line(to, "in", self.ul) },
                ]
            }
            ("count", _) => vec![NewLine { counted_ul: Some(self.ul), ..line(self.store, "count", 0) }],
            ("adjustment", _) => vec![line(self.store, "adjustment", self.ul - balance_ul)],
            ("waste", _) => vec![line(self.store, "waste", -self.ul)],
            _ => vec![line(self.store, "receipt", self.ul)],
        }
    }
}

fn needed(
    c: &mut Check,
    field: &str,
    typed: &str,
    range: std::ops::RangeInclusive<f64>,
    unit: &str,
) -> Option<f64> {
    if typed.trim().is_empty() {
        c.errors.add(field, format!("Enter it in {unit}."));
    }
    c.number(field, typed, range, unit)
}
