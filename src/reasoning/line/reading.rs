//! What a line comes to: the rows of `limbledger read-line`, each with the words it came from.

use serde::{Serialize, Serializer};

/// One line, read. Every member is always there.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Reading {
    pub line: String,
    pub findings: Vec<Finding>,
    pub examined: Vec<Examined>,
    pub vitals: Vec<Vital>,
    pub gait: Vec<Gait>,
    pub flexion: Vec<Flexion>,
    pub blocks: Vec<Block>,
    /// What could not be read, word for word, its pieces in order.
    pub unread: String,
    pub ask: Vec<Ask>,
    /// What a correction in the line cancelled.
    pub withdrawn: String,
}

/// A sign at a place, there or looked for and not there.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Finding {
    pub region: String,
    pub side: String,
    pub limb: Option<String>,
    pub aspect: Option<String>,
    pub structure: Option<String>,
    pub finding: String,
    pub present: bool,
    #[serde(serialize_with = "number")]
    pub grade: Option<f64>,
    pub scale: Option<String>,
    /// The pick of an item of the foot, or the site of the testers.
    pub value: Option<String>,
    #[serde(serialize_with = "number")]
    pub value_mm: Option<f64>,
    pub text: String,
}

impl Finding {
    /// A measured item of the foot, which is neither there nor not there.
    pub fn number_only(&self) -> bool {
        self.value.is_none() && (self.finding.ends_with("_mm") || self.finding.ends_with("_deg"))
    }
}

/// A place where nothing was found.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Examined {
    pub region: String,
    pub side: String,
    pub limb: Option<String>,
    pub text: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Vital {
    pub name: String,
    /// In the unit that the name ends in.
    #[serde(serialize_with = "number")]
    pub value: Option<f64>,
    pub text: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Gait {
    pub limb: Option<String>,
    pub condition: Option<String>,
    #[serde(serialize_with = "number")]
    pub grade: Option<f64>,
    pub scale: Option<String>,
    pub text: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Flexion {
    pub limb: Option<String>,
    pub flexion: String,
    #[serde(serialize_with = "number")]
    pub grade: Option<f64>,
    #[serde(serialize_with = "number")]
    pub hold_s: Option<f64>,
    pub text: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Block {
    pub limb: Option<String>,
    pub block: String,
    #[serde(serialize_with = "number")]
    pub improvement_pct: Option<f64>,
    #[serde(serialize_with = "number")]
    pub minutes: Option<f64>,
    /// At each site.
    #[serde(serialize_with = "number")]
    pub volume_ml: Option<f64>,
    pub text: String,
}

/// What could be two things.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Ask {
    pub text: String,
    pub question: String,
    pub choices: Vec<Choice>,
    /// The row that each choice comes to, in their order; none where it would still be open.
    #[serde(skip)]
    pub answers: Vec<Option<Answer>>,
}

/// A row that answers a question.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    Finding(Finding),
    Gait(Gait),
    Flexion(Flexion),
    Block(Block),
}

/// One answer: what is left out is not in question.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Choice {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub finding: Option<String>,
}

/// Whole numbers without a decimal point.
#[expect(clippy::ref_option, reason = "serde hands the member over by reference")]
fn number<S: Serializer>(number: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
    match number {
        None => serializer.serialize_none(),
        #[expect(clippy::cast_possible_truncation, reason = "whole and small by the guard")]
        Some(n) if n.fract() == 0.0 && n.abs() < 1e15 => serializer.serialize_i64(*n as i64),
        Some(n) => serializer.serialize_f64(*n),
    }
}

/// A row as it is being put together, with the tokens it was made of.
#[derive(Clone, Debug)]
pub(super) enum Made {
    Finding(Finding),
    Examined(Examined),
    Vital(Vital),
    Gait(Gait),
    Flexion(Flexion),
    Block(Block),
    Ask(Ask),
}

impl Reading {
    pub(super) fn push(&mut self, made: Made, text: String) {
        match made {
            Made::Finding(row) => self.findings.push(Finding { text, ..row }),
            Made::Examined(row) => self.examined.push(Examined { text, ..row }),
            Made::Vital(row) => self.vitals.push(Vital { text, ..row }),
            Made::Gait(row) => self.gait.push(Gait { text, ..row }),
            Made::Flexion(row) => self.flexion.push(Flexion { text, ..row }),
            Made::Block(row) => self.blocks.push(Block { text, ..row }),
            Made::Ask(row) => self.ask.push(Ask { text, ..row }),
        }
    }

    /// Whether nothing at all came of the line.
    pub fn is_empty(&self) -> bool {
        self.findings.is_empty()
            && self.examined.is_empty()
            && self.vitals.is_empty()
            && self.gait.is_empty()
            && self.flexion.is_empty()
            && self.blocks.is_empty()
            && self.ask.is_empty()
    }
}
