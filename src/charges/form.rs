//! The charges of a visit as they are gone over: what was typed, and what is meant.

use std::collections::HashMap;

use serde::Deserialize;

use super::{
    kept::{NewLine, What},
    scene::{OpenLine, Scene},
    store::Price,
};
use crate::{
    ids::{ChargeId, ClientId},
    reasoning::charges::{quantity, read_quantity},
    web::{Check, Errors},
};

const LONGEST: usize = 300;
const QUANTITY: &str = "Enter a quantity such as 1 or 0.5, at most 100000.";
const PAYER: &str = "Choose who pays.";

/// The proposed lines: `source-1`, `recorded-1`, `quantity-1`, `payer-1`, `leave-1` and so on.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct LookOver {
    pub submission: String,
    #[serde(flatten)]
    fields: HashMap<String, String>,
}

/// A proposed line with what was typed about it.
#[derive(Debug, Clone)]
pub(super) struct Row {
    /// From 1, as its fields are named.
    pub number: usize,
    pub line: OpenLine,
    pub quantity: String,
    pub payer: String,
    pub leave: String,
}

impl Row {
    pub(super) fn name(&self, field: &str) -> String {
        format!("{field}-{}", self.number)
    }
}

impl LookOver {
    fn of(&self, field: &str, number: usize) -> &str {
        self.fields.get(&format!("{field}-{number}")).map_or("", String::as_str)
    }

    /// The number under which the form has a line, where it has it as it stands.
    fn number(&self, line: &OpenLine) -> Option<usize> {
        let is = |number: &usize| {
            self.of("source", *number) == line.source()
                && self.of("recorded", *number) == line.quantity.to_string()
        };
        (1..=self.sent()).find(is)
    }

    /// How many lines were sent.
    fn sent(&self) -> usize {
        self.fields.keys().filter(|name| name.starts_with("source-")).count()
    }

    /// Whether a line was sent that is not proposed any more, or not so.
    pub(super) fn is_stale(&self, scene: &Scene) -> bool {
        let known = scene.open.iter().filter(|line| self.number(line).is_some()).count();
        known < self.sent()
    }

    /// Reasons as they were typed, for a page that cannot take them.
    pub(super) fn reasons(&self) -> Vec<&str> {
        (1..=self.sent()).map(|number| self.of("leave", number)).filter(|why| !why.is_empty()).collect()
    }

    /// The lines of the page, with what was typed about those that were sent.
    pub(super) fn rows(&self, scene: &Scene) -> Vec<Row> {
        let payer = scene.payer.map_or_else(String::new, |payer| payer.to_string());
        let row = |(at, line): (usize, &OpenLine)| {
            let sent = self.number(line);
            let typed = |field: &str, usual: String| sent.map_or(usual, |n| self.of(field, n).to_owned());
            Row {
                number: at + 1,
                quantity: typed("quantity", quantity(line.quantity)),
                payer: typed("payer", payer.clone()),
                leave: typed("leave", String::new()),
                line: line.clone(),
            }
        };
        scene.open.iter().enumerate().map(row).collect()
    }

    /// The lines that are kept: those with a reason are left out, those without a price stay proposed.
    pub(super) fn check(&self, scene: &Scene) -> Result<Vec<NewLine>, Errors> {
        let mut c = Check::new();
        let mut lines = Vec::new();
        for row in self.rows(scene).iter().filter(|row| self.number(&row.line).is_some()) {
            lines.extend(row.check(&mut c, scene));
        }
        if lines.is_empty() && c.errors.is_empty() {
            c.errors.add("", "Nothing can be kept yet: enter prices, or say why lines are left out.");
        }
        c.done(lines)
    }
}

impl Row {
    fn check(&self, c: &mut Check, scene: &Scene) -> Option<NewLine> {
        let leave = c.line(&self.name("leave"), &self.leave, LONGEST);
        let fact = &self.line.recorded.fact;
        let line = |quantity: i64, what: What| NewLine {
            id: ChargeId::new(),
            source: fact.source.clone(),
            charge: fact.charge.clone(),
            of_what: fact.of.clone(),
            words: self.line.recorded.words.clone(),
            unit: fact.unit,
            recorded: self.line.quantity,
            quantity,
            what,
        };
        let quantity = self.line.price.as_ref().and_then(|_| {
            let typed = (self.name("quantity"), &self.quantity);
            counted(c, &typed.0, typed.1)
        });
        if !leave.is_empty() {
            return Some(line(self.line.quantity, What::LeftOut(leave)));
        }
        let price = self.line.price.clone()?;
        let payer = paying(c, scene, &self.name("payer"), &self.payer);
        Some(line(quantity?, What::Charged { price, payer: payer?, currency: scene.currency.clone()? }))
    }
}

/// A quantity above nothing.
fn counted(c: &mut Check, field: &str, typed: &str) -> Option<i64> {
    let quantity = read_quantity(typed).filter(|quantity| *quantity > 0);
    if quantity.is_none() {
        c.errors.add(field, QUANTITY);
    }
    quantity
}

/// One of those who may pay.
fn paying(c: &mut Check, scene: &Scene, field: &str, typed: &str) -> Option<ClientId> {
    let payer = typed.parse::<ClientId>().ok().filter(|id| scene.payers.iter().any(|(known, _)| known == id));
    if payer.is_none() {
        c.errors.add(field, PAYER);
    }
    payer
}

/// A line of one's own from the price list.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct OwnForm {
    pub submission: String,
    pub own_price: String,
    pub own_quantity: String,
    pub own_payer: String,
    pub own_words: String,
}

impl OwnForm {
    pub(super) fn fresh(scene: &Scene) -> Self {
        OwnForm {
            own_quantity: "1".into(),
            own_payer: scene.payer.map_or_else(String::new, |payer| payer.to_string()),
            ..OwnForm::default()
        }
    }

    pub(super) fn check(&self, scene: &Scene) -> Result<NewLine, Errors> {
        let mut c = Check::new();
        let price: Option<&Price> = scene.prices.iter().find(|price| price.id.to_string() == self.own_price);
        if price.is_none() {
            c.errors.add("own_price", "Choose a price of the list.");
        }
        let quantity = counted(&mut c, "own_quantity", &self.own_quantity);
        let payer = paying(&mut c, scene, "own_payer", &self.own_payer);
        let more = c.line("own_words", &self.own_words, 90);
        let id = ChargeId::new();
        let (Some(price), Some(quantity), Some(payer), Some(currency)) =
            (price, quantity, payer, scene.currency.clone())
        else {
            return Err(c.errors);
        };
        c.done(NewLine {
            id,
            source: format!("own:{id}"),
            charge: price.charge.clone(),
            of_what: price.of_what.clone(),
            words: if more.is_empty() { price.words.clone() } else { format!("{}: {more}", price.words) },
            unit: price.unit,
            recorded: 0,
            quantity,
            what: What::Charged { price: price.clone(), payer, currency },
        })
    }
}

/// Why a line is reversed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct ReverseForm {
    pub submission: String,
    pub reason: String,
}
