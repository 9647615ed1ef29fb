//! What a submission sheet asks, in the order of the paper. What was typed stands in the place of the record's words.

use std::collections::BTreeMap;

use super::gathered::Gathered;

/// A line of the paper.
pub(super) struct Field {
    pub key: &'static str,
    pub group: &'static str,
    pub label: &'static str,
    /// What helps to answer it; empty where the label says it all.
    pub hint: &'static str,
    /// Without it the sheet is not ready.
    pub needed: bool,
}

const fn field(group: &'static str, key: &'static str, label: &'static str, hint: &'static str) -> Field {
    Field { key, group, label, hint, needed: false }
}

const fn needed(group: &'static str, key: &'static str, label: &'static str, hint: &'static str) -> Field {
    Field { key, group, label, hint, needed: true }
}

pub(super) const FIELDS: [Field; 19] = [
    field("from", "practice", "Practice", ""),
    field("from", "vet", "Veterinarian", ""),
    field("from", "contact", "Contact", "Phone, mail and address for questions."),
    field("from", "result_route", "Result to", "To whom, and by which way."),
    field("horse", "owner", "Owner", ""),
    field("horse", "horse", "Horse", ""),
    field("horse", "age", "Age", ""),
    field("horse", "sex", "Sex", ""),
    field("horse", "breed", "Breed", ""),
    field("horse", "use", "Use", ""),
    needed("case", "history", "History", "Since when, how it came, how often, in the family or the yard."),
    needed("case", "signs", "Examination and signs", "What was found, and where."),
    field("case", "diet", "Diet", "Forage, grain, fat, vitamin E, salt; since when."),
    field("case", "exercise", "Exercise", "What work, how often, days of rest, turnout."),
    field("case", "enzymes", "CK and AST", "With the time of sampling and the laboratory."),
    field("case", "emg", "Electromyography", "On which side."),
    field("case", "genetics", "Gene tests", ""),
    field("case", "treatment", "Treatment before", "Glucocorticoids first: which, how much, until when."),
    field("case", "question", "Question", ""),
];

/// A field as the paper says it.
pub(super) struct Shown<'a> {
    pub label: &'static str,
    pub words: &'a str,
}

impl<'a> Shown<'a> {
    pub(super) fn new(field: &Field, gathered: &'a Gathered, kept: &'a BTreeMap<String, String>) -> Self {
        let typed = kept.get(field.key).map(String::as_str);
        Shown { label: field.label, words: typed.unwrap_or_else(|| gathered.words(field.key)) }
    }
}

/// A field as the form asks it.
pub(super) struct Asked<'a> {
    pub key: &'static str,
    pub label: &'static str,
    /// What the record says already, and what helps.
    pub hint: String,
    pub typed: &'a str,
    pub needed: bool,
}

impl<'a> Asked<'a> {
    pub(super) fn new(field: &Field, gathered: &Gathered, typed: &'a BTreeMap<String, String>) -> Self {
        let record = gathered.words(field.key);
        let hint = match (record, field.hint) {
            ("", hint) => hint.to_owned(),
            (record, _) => format!("The record says: {record}. What is typed stands in its place."),
        };
        let needed = field.needed && record.is_empty();
        let typed = typed.get(field.key).map_or("", String::as_str);
        Asked { key: field.key, label: field.label, hint, typed, needed }
    }
}
