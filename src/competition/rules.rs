//! A set of rules as the practice has read it, and its rules in words.

use crate::{
    catalogue::catalogue,
    clock::{At, Day},
    ids::{RestrictionId, RuleSetId},
    reasoning::competition::{Doubt, Interval, Kind, Margin, Rule, Validity},
};

/// A set of rules of one body, in one edition.
#[derive(Debug, Clone)]
pub struct RuleSet {
    pub id: RuleSetId,
    pub name: String,
    pub body: String,
    pub jurisdiction: String,
    pub edition: String,
    pub valid_from: Day,
    pub valid_to: Option<Day>,
    pub source: String,
    pub read_on: Day,
    pub by: String,
    pub at: At,
    pub version: i64,
}

impl RuleSet {
    /// "Medication, The society, UK, 2026"
    pub fn title(&self) -> String {
        format!("{}, {}, {}, {}", self.name, self.body, self.jurisdiction, self.edition)
    }

    /// "from 1 Jan 2026 to 31 Dec 2026"
    pub fn dates(&self) -> String {
        let to = self.valid_to.map(|to| format!(" to {}", to.words())).unwrap_or_default();
        format!("from {}{to}", self.valid_from.words())
    }

    /// "its handbook, read on 5 Jan 2026 by Vala Test"
    pub fn read(&self) -> String {
        format!("{}, read on {} by {}", self.source, self.read_on.words(), self.by)
    }

    pub fn validity(&self) -> Validity {
        Validity { from: self.valid_from, to: self.valid_to, read_on: self.read_on }
    }

    /// What speaks against it for an event, as sentences.
    pub fn doubts(&self, event: Day, today: Day) -> Vec<String> {
        let months = catalogue().competition.old_after_months();
        let doubts = self.validity().doubts(event, today, months);
        let ended = self.valid_to.map(Day::words).unwrap_or_default();
        let words = |doubt| match doubt {
            Doubt::NotYet => {
                format!("It does not hold on {}: it begins on {}.", event.words(), self.valid_from.words())
            }
            Doubt::Over => format!("It does not hold on {}: it ended on {ended}.", event.words()),
            Doubt::Expired => format!("It has expired, on {ended}. Read the body's newest text."),
            Doubt::Old { months } => {
                format!(
                    "It was read on {}, more than {months} months ago. Read it again.",
                    self.read_on.words()
                )
            }
        };
        doubts.into_iter().map(words).collect()
    }
}

/// What a rule is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Subject {
    Medicine {
        code: String,
        name: String,
    },
    /// In the words of the sheets and blocks, or in the body's own.
    Procedure(String),
}

/// One rule of a set.
#[derive(Debug, Clone)]
pub struct Restriction {
    pub id: RestrictionId,
    pub subject: Subject,
    /// Empty where any route is meant.
    pub route: String,
    pub rule: Rule,
    /// In the body's words.
    pub max_dose: String,
    pub source: String,
}

impl Restriction {
    /// "flunixin, IV"
    pub fn name(&self) -> String {
        let name = match &self.subject {
            Subject::Medicine { name, .. } | Subject::Procedure(name) => name,
        };
        if self.route.is_empty() { name.clone() } else { format!("{name}, {}", self.route) }
    }

    /// "detection time 144 h", "stand-down 8 clear days"
    pub fn words(&self) -> String {
        format!("{} {}", kind_words(self.rule.kind), interval_words(self.rule.interval))
    }
}

/// A rule with who entered it, and who struck it.
#[derive(Debug, Clone)]
pub struct Kept {
    pub restriction: Restriction,
    pub by: String,
    pub at: At,
    /// By whom, when and why.
    pub struck: Option<(String, At, String)>,
}

/// The key of forms and of the database.
pub(super) fn kind_key(kind: Kind) -> &'static str {
    match kind {
        Kind::Detection => "detection",
        Kind::StandDown => "stand_down",
    }
}

pub(super) fn kind_words(kind: Kind) -> &'static str {
    let key = kind_key(kind);
    catalogue().competition.kinds.get(key).map_or(key, |row| row.name.as_str())
}

fn interval_words(interval: Interval) -> String {
    match interval {
        Interval::Hours(hours) => format!("{hours} h"),
        Interval::ClearDays(1) => "1 clear day".to_owned(),
        Interval::ClearDays(days) => format!("{days} clear days"),
    }
}

pub(super) fn margin_words(margin: Margin) -> String {
    match margin {
        Margin::Hours(hours) => format!("{hours} h"),
        Margin::Days(1) => "1 day".to_owned(),
        Margin::Days(days) => format!("{days} days"),
    }
}
