//! What an entry says of a medicine: how much of it, by which row and weight, and whether it was given, handed over or
//! only prescribed.

use serde::{Deserialize, Serialize};

use crate::{catalogue::formulary::Group, clock::At};

/// Three different things.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// Into this horse, by us.
    Administered,
    /// Handed over, for somebody else to give.
    Dispensed,
    /// A paper, for somebody else to supply.
    Prescribed,
}

impl How {
    pub const CHOICES: [(&'static str, &'static str); 3] = [
        ("administered", "given by us now"),
        ("dispensed", "handed over"),
        ("prescribed", "prescribed on paper"),
    ];

    pub fn read(key: &str) -> Option<Self> {
        match key {
            "administered" => Some(How::Administered),
            "dispensed" => Some(How::Dispensed),
            "prescribed" => Some(How::Prescribed),
            _ => None,
        }
    }

    /// The key of forms, which is the word for it.
    pub fn word(self) -> &'static str {
        match self {
            How::Administered => "administered",
            How::Dispensed => "dispensed",
            How::Prescribed => "prescribed",
        }
    }
}

/// One medicine. What nobody said is absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dosed {
    pub how: How,
    pub medicine: String,
    pub name: String,
    pub group: Group,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub controlled: bool,
    pub route: String,
    pub form: String,
    /// Code of the row of the formulary, and the text that the row is from.
    pub row: String,
    pub source: String,
    /// One dose.
    pub mg: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mg_per_ml: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ml: Option<f64>,
    /// The weight that it was reckoned with, and how that was come by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kg: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kg_from: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub every_h: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<u32>,
    /// How much was handed over or is to be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quantity: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub directions: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batch: Option<String>,
    /// `YYYY-MM-DD`
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expires: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waste_ml: Option<f64>,
    /// Until slaughter, for a horse that may be eaten.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub withdrawal_days: Option<u32>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeats: Option<u32>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub off_label: bool,
    pub at: At,
}
