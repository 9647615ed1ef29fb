//! The picks of the assessment page (`choices.toml`): how certain a problem is, and near days for a follow-up.

use std::sync::LazyLock;

use serde::Deserialize;

use crate::catalogue::Confidence;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choices {
    pub certainty: Vec<Certainty>,
    pub near_day: Vec<NearDay>,
}

/// How sure the veterinarian is of a problem.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Certainty {
    pub code: String,
    pub name: String,
    pub meaning: String,
    pub source: String,
    pub confidence: Confidence,
}

/// A day that can be tapped instead of typed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NearDay {
    pub code: String,
    pub name: String,
    pub days: i64,
    pub source: String,
    pub confidence: Confidence,
}

static CHOICES: LazyLock<Choices> = LazyLock::new(|| {
    toml::from_str(include_str!("choices.toml"))
        .expect("the embedded file cannot change after the build, and the tests load these very bytes")
});

pub fn choices() -> &'static Choices {
    &CHOICES
}

impl Choices {
    pub fn certainty(&self, code: &str) -> Option<&Certainty> {
        self.certainty.iter().find(|c| c.code == code)
    }

    pub fn near_day(&self, code: &str) -> Option<&NearDay> {
        self.near_day.iter().find(|d| d.code == code)
    }
}
