//! The numbers of these files, each by its address, so that a practice may look at every one and set its own in place of
//! it.

use std::{fmt, str::FromStr};

use serde::Deserialize;

use super::{
    Localising,
    order::in_order,
    rows::{Agent, Answer, Clock, Number, Override, Rung, Severe, Standing, Support, Together, Weight},
};
use crate::catalogue::{Confidence, Limb, Row, Table, row::rows};

/// Where a number stands: `clock/PDN/late_min`. A cell of the matrix is `fore/SOT/PDN`: structure and block.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Address {
    pub list: String,
    pub row: String,
    pub field: String,
}

impl Address {
    pub fn new(list: &str, row: &str, field: &str) -> Self {
        Self { list: list.to_owned(), row: row.to_owned(), field: field.to_owned() }
    }

    /// The cell of a structure and a block on this limb.
    pub fn cell(limb: Limb, structure: &str, block: &str) -> Self {
        Self::new(if limb.is_fore() { "fore" } else { "hind" }, structure, block)
    }

    pub fn is_cell(&self) -> bool {
        matches!(self.list.as_str(), "fore" | "hind")
    }
}

impl fmt::Display for Address {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}/{}", self.list, self.row, self.field)
    }
}

impl FromStr for Address {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        let mut parts = text.split('/');
        match (parts.next(), parts.next(), parts.next(), parts.next()) {
            (Some(list), Some(row), Some(field), None) => Ok(Self::new(list, row, field)),
            _ => Err(()),
        }
    }
}

/// What a number is called, and between which bounds a practice may set its own.
#[derive(Clone, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bound {
    /// `list/field`, or `list/row/field` for one row apart.
    pub code: String,
    pub name: String,
    #[serde(default)]
    pub unit: String,
    pub least: f64,
    pub most: f64,
    #[serde(default)]
    pub whole: bool,
    /// Why it is not to be changed.
    pub fixed: Option<String>,
    pub source: String,
    pub confidence: Confidence,
}

rows!(Bound);

/// One number.
#[derive(Clone, Copy)]
pub struct Figure<'a> {
    pub list: &'a str,
    /// The row it stands in, with its source.
    pub row: &'a dyn Row,
    pub field: &'a str,
    pub is: f64,
    pub bound: &'a Bound,
}

impl fmt::Debug for Figure<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.address(), self.is)
    }
}

impl Figure<'_> {
    pub fn address(&self) -> Address {
        Address::new(self.list, self.row.code(), self.field)
    }

    /// Why a practice cannot set this value, in a sentence.
    pub fn refuses(&self, value: f64) -> Option<String> {
        let Bound { least, most, unit, whole, fixed, .. } = self.bound;
        if let Some(why) = fixed {
            Some(format!("This number is not to be changed. {why}"))
        } else if !(*least..=*most).contains(&value) {
            Some(format!("Enter a number from {least} to {most} {unit}").trim_end().to_owned() + ".")
        } else if *whole && value.fract() != 0.0 {
            Some("Enter a whole number.".to_owned())
        } else {
            None
        }
    }
}

/// A row with numbers under the names of their fields.
trait Numbers: Row {
    const FIELDS: &'static [&'static str];
    fn get(&self, field: &str) -> Option<f64>;
    fn put(&mut self, field: &str, to: f64);
}

/// A member that is a number, or may be.
trait Member {
    fn number(&self) -> Option<f64>;
    fn write(&mut self, to: f64);
}

impl Member for f64 {
    fn number(&self) -> Option<f64> {
        Some(*self)
    }
    fn write(&mut self, to: f64) {
        *self = to;
    }
}

impl Member for Option<f64> {
    fn number(&self) -> Option<f64> {
        *self
    }
    fn write(&mut self, to: f64) {
        *self = Some(to);
    }
}

impl Member for u8 {
    fn number(&self) -> Option<f64> {
        Some(f64::from(*self))
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "bounds keep it a small whole number"
    )]
    fn write(&mut self, to: f64) {
        *self = to as u8;
    }
}

macro_rules! numbers {
    ($($kind:ty: $($field:ident)+;)+) => {$(
        impl Numbers for $kind {
            const FIELDS: &'static [&'static str] = &[$(stringify!($field)),+];
            fn get(&self, field: &str) -> Option<f64> {
                match field {
                    $(stringify!($field) => self.$field.number(),)+
                    _ => None,
                }
            }
            fn put(&mut self, field: &str, to: f64) {
                match field {
                    $(stringify!($field) => self.$field.write(to),)+
                    _ => {}
                }
            }
        }
    )+};
}

numbers! {
    Clock: assess_min again_min late_min ml_least ml_most sites;
    Rung: step opens;
    Weight: chance;
    Answer: at_least_pct slope base;
    Standing: at_least;
    Number: is;
    Severe: at_least;
    Agent: mg_per_ml active_min negative_cap;
    Override: chance cap from_min before_min over_ml;
    Support: at_least;
    Together: from_min;
}

/// A table of such rows, whatever their kind.
pub(super) trait Numbered {
    fn get(&self, row: &str, field: &str) -> Option<(&dyn Row, &'static str, f64)>;
    fn put(&mut self, row: &str, field: &str, to: f64);
    fn all(&self) -> Vec<(&dyn Row, &'static str, f64)>;
}

impl<T: Numbers> Numbered for Table<T> {
    fn get(&self, row: &str, field: &str) -> Option<(&dyn Row, &'static str, f64)> {
        let row = Table::get(self, row)?;
        let field = T::FIELDS.iter().find(|known| **known == field)?;
        Some((row, field, row.get(field)?))
    }

    fn put(&mut self, row: &str, field: &str, to: f64) {
        if let Some(row) = self.rows_mut().iter_mut().find(|known| known.code() == row) {
            row.put(field, to);
        }
    }

    fn all(&self) -> Vec<(&dyn Row, &'static str, f64)> {
        let of_row =
            |row| T::FIELDS.iter().filter_map(move |field| Some((row, field, Numbers::get(row, field)?)));
        self.iter().flat_map(of_row).map(|(row, field, is)| (row as &dyn Row, *field, is)).collect()
    }
}

/// The lists beside the matrix, as addresses name them.
pub(super) const LISTS: [&str; 11] = [
    "clock", "rung", "letter", "answer", "standing", "number", "severe", "agent", "override", "support",
    "together",
];

impl Localising {
    pub(super) fn list(&self, list: &str) -> Option<&dyn Numbered> {
        Some(match list {
            "clock" => &self.clocks,
            "rung" => &self.ladder,
            "letter" => &self.weights,
            "answer" => &self.answers,
            "standing" => &self.standings,
            "number" => &self.numbers,
            "severe" => &self.severe,
            "agent" => &self.agents,
            "override" => &self.overrides,
            "support" => &self.support,
            "together" => &self.together,
            _ => return None,
        })
    }

    fn put(&mut self, at: &Address, to: f64) {
        let table: &mut dyn Numbered = match at.list.as_str() {
            "clock" => &mut self.clocks,
            "rung" => &mut self.ladder,
            "letter" => &mut self.weights,
            "answer" => &mut self.answers,
            "standing" => &mut self.standings,
            "number" => &mut self.numbers,
            "severe" => &mut self.severe,
            "agent" => &mut self.agents,
            "override" => &mut self.overrides,
            "support" => &mut self.support,
            "together" => &mut self.together,
            list => {
                let matrix = if list == "fore" { &mut self.fore } else { &mut self.hind };
                if let Some(row) = matrix.rows_mut().iter_mut().find(|row| row.code == at.row) {
                    row.own.insert(at.field.clone(), to);
                }
                return;
            }
        };
        table.put(&at.row, &at.field, to);
    }

    pub(super) fn bound(&self, list: &str, row: &str, field: &str) -> Option<&Bound> {
        if matches!(list, "fore" | "hind") {
            return self.bounds.get("cell");
        }
        self.bounds
            .get(&format!("{list}/{row}/{field}"))
            .or_else(|| self.bounds.get(&format!("{list}/{field}")))
    }

    /// The number at an address, as it stands in this set.
    pub fn figure<'a>(&'a self, at: &'a Address) -> Option<Figure<'a>> {
        let (row, field, is) = if at.is_cell() {
            let limb = if at.list == "fore" { Limb::LF } else { Limb::LH };
            let row = self.matrix(limb).get(&at.row)?;
            (row as &dyn Row, at.field.as_str(), self.chance(limb, &at.row, &at.field)?)
        } else {
            self.list(&at.list)?.get(&at.row, &at.field)?
        };
        let bound = self.bound(&at.list, &at.row, &at.field)?;
        Some(Figure { list: &at.list, row, field, is, bound })
    }

    /// Every number of one list beside the matrix, in the order of its file.
    pub fn figures<'a>(&'a self, list: &'a str) -> Vec<Figure<'a>> {
        let all = self.list(list).map(Numbered::all).unwrap_or_default();
        let figure = |(row, field, is): (&'a dyn Row, &'static str, f64)| {
            Some(Figure { list, row, field, is, bound: self.bound(list, row.code(), field)? })
        };
        all.into_iter().filter_map(figure).collect()
    }

    /// The cells of one block on this pair of limbs, distal first.
    pub fn cells<'a>(&'a self, limb: Limb, block: &'a str) -> Vec<Figure<'a>> {
        let list = if limb.is_fore() { "fore" } else { "hind" };
        let figure = |row: &'a super::MatrixRow| {
            let is = self.chance(limb, &row.code, block)?;
            Some(Figure { list, row, field: block, is, bound: self.bounds.get("cell")? })
        };
        self.matrix(limb).iter().filter_map(figure).collect()
    }

    /// What a number was as shipped, where the practice has its own.
    pub fn shipped(&self, at: &Address) -> Option<f64> {
        self.own.get(at).copied()
    }

    /// This set with a practice's own values in place of the shipped ones, and what of them cannot be used, with a
    /// sentence that says why.
    #[must_use]
    pub fn with(&self, own: &[(Address, f64)]) -> (Self, Vec<(Address, String)>) {
        let mut refused = Vec::new();
        let mut rows = self.clone();
        let mut taken = Vec::new();
        for (at, is) in own {
            match self.figure(at) {
                None => refused.push((at.clone(), "There is no such number any more.".to_owned())),
                Some(figure) => match figure.refuses(*is) {
                    Some(why) => refused.push((at.clone(), why)),
                    None => taken.push((at, *is, figure.is)),
                },
            }
        }
        for (at, is, shipped) in &taken {
            rows.set(at, *is, *shipped);
        }
        if in_order(&rows).is_ok() {
            return (rows, refused);
        }
        // Together they do not go with numbers that were shipped since: each that does is taken.
        let mut rows = self.clone();
        for (at, is, shipped) in taken {
            let before = rows.clone();
            rows.set(at, is, shipped);
            if let Err(why) = in_order(&rows) {
                rows = before;
                refused.push((at.clone(), why));
            }
        }
        (rows, refused)
    }

    /// This set with one more value of the practice's own, or a sentence that says why it does not go with the others.
    pub fn also(&self, at: &Address, is: f64) -> Result<Self, String> {
        let figure = self.figure(at).ok_or("There is no such number.")?;
        if let Some(why) = figure.refuses(is) {
            return Err(why);
        }
        let mut rows = self.clone();
        rows.set(at, is, self.shipped(at).unwrap_or(figure.is));
        in_order(&rows).map(|()| rows)
    }

    /// This set with the shipped value back in its place, or a sentence that says why it does not go with the others.
    pub fn without(&self, at: &Address) -> Result<Self, String> {
        let mut rows = self.clone();
        let Some(shipped) = rows.own.remove(at) else { return Ok(rows) };
        if at.is_cell() {
            let matrix = if at.list == "fore" { &mut rows.fore } else { &mut rows.hind };
            let row = matrix.rows_mut().iter_mut().find(|row| row.code == at.row);
            row.and_then(|row| row.own.remove(&at.field));
        } else {
            rows.put(at, shipped);
        }
        in_order(&rows).map(|()| rows)
    }

    fn set(&mut self, at: &Address, is: f64, shipped: f64) {
        self.put(at, is);
        self.own.insert(at.clone(), shipped);
    }
}
