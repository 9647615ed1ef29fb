//! The form of a mark, and the one that lifts it.

use serde::Deserialize;

use super::store::NewMark;
use crate::{
    catalogue::catalogue,
    clock::Day,
    ids::{HorseId, YardId},
    web::{Check, Errors},
};

/// As typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct MarkForm {
    pub submission: String,
    pub kind: String,
    pub disease: String,
    pub from_on: String,
    pub until_on: String,
    pub reason: String,
}

impl MarkForm {
    pub(super) fn fresh(today: Day) -> Self {
        MarkForm { from_on: today.to_string(), ..Self::default() }
    }

    pub(super) fn check(&self, horse: Option<HorseId>, yard: Option<YardId>) -> Result<NewMark, Errors> {
        let mut check = Check::new();
        let lists = &catalogue().biosecurity;
        let kind = lists.marks.get(&self.kind).map(|row| row.code.as_str());
        if kind.is_none() {
            check.errors.add("kind", "Choose what it is.");
        }
        if !self.disease.is_empty() && lists.diseases.get(&self.disease).is_none() {
            check.errors.add("disease", "Choose one of the list.");
        }
        let from_on = check.day("from_on", &self.from_on);
        if from_on.is_none() && check.errors.on("from_on").is_none() {
            check.errors.add("from_on", "Enter the first day.");
        }
        let until_on = check.day("until_on", &self.until_on);
        if from_on.zip(until_on).is_some_and(|(from, until)| until < from) {
            check.errors.add("until_on", "The last day cannot lie before the first.");
        }
        let reason = check.needed_words("reason", &self.reason, 500, "Write why; it stays beside the mark.");
        let Some((kind, from_on)) = kind.zip(from_on).filter(|_| check.errors.is_empty()) else {
            return Err(check.errors);
        };
        Ok(NewMark { horse, yard, kind, disease: self.disease.clone(), from_on, until_on, reason })
    }
}

/// As typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct LiftForm {
    pub submission: String,
    pub lifted: String,
}

impl LiftForm {
    pub(super) fn check(&self) -> Result<String, Errors> {
        let mut check = Check::new();
        let reason =
            check.needed_words("lifted", &self.lifted, 500, "Write why it is over, such as a negative test.");
        check.done(reason)
    }
}
