//! What a letter asks besides the record: as typed, and what is meant.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::{facts::Facts, names::EARLIER};
use crate::{
    catalogue::{
        catalogue,
        letters::{Asked, Asks, LEAVE, LEAVE_BY, Letter},
    },
    clock::Day,
    reasoning::fill::fill,
    web::{Check, Errors},
};

const LINE: usize = 200;
const LONGEST: usize = 4000;
/// A letter of some pages.
const LETTER: usize = 20_000;
const FILLED: usize = 30_000;

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub words: String,
    #[serde(flatten)]
    pub answers: BTreeMap<String, String>,
}

impl Typed {
    pub(super) fn value(&self, key: &str) -> &str {
        self.answers.get(key).map_or("", String::as_str)
    }

    /// Whether somebody gave leave to tell of earlier visits.
    pub(super) fn leave(&self) -> bool {
        !self.value(LEAVE).is_empty()
    }

    /// The words of the letter and whom it goes to, with every name filled; `earlier` is told of earlier visits.
    pub(super) fn check(
        &self,
        letter: &Letter,
        facts: &Facts,
        earlier: &str,
    ) -> Result<(String, String), Errors> {
        let mut c = Check::new();
        let mut answers: BTreeMap<&str, String> = BTreeMap::new();
        for asked in catalogue().letters.of(letter) {
            answers.insert(&asked.key, read(&mut c, asked, self.value(&asked.key)));
        }
        if self.leave() && self.value(LEAVE_BY).trim().is_empty() {
            c.errors.add(LEAVE_BY, "Enter who agreed, how and when.");
        }
        let words = c.needed_words("words", &self.words, LETTER, "Write the letter.");
        let known = |name: &str| match name {
            EARLIER if letter.history => Some(earlier.to_owned()),
            _ => answers.get(name).cloned().or_else(|| facts.known(name)),
        };
        let filled = fill(&words, known);
        match filled.as_ref() {
            Err(fault) => c.errors.add("words", fault.to_string()),
            Ok(filled) if filled.chars().count() > FILLED => {
                c.errors.add("words", "With everything filled in, this is too long.");
            }
            Ok(_) => {}
        }
        let addressee = answers.get("addressee").cloned().unwrap_or_default();
        c.done((filled.unwrap_or_default(), addressee))
    }
}

fn read(c: &mut Check, asked: &Asked, typed: &str) -> String {
    let (key, typed) = (asked.key.as_str(), typed.trim());
    if asked.needed && typed.is_empty() {
        c.errors.add(key, format!("Enter this: {}.", asked.name.to_lowercase()));
        return String::new();
    }
    match asked.kind {
        Asks::Line => c.line(key, typed, LINE),
        Asks::Words => c.words(key, typed, LONGEST),
        Asks::Day => c.day(key, typed).map_or_else(String::new, Day::words),
        Asks::Span => span(c, key, typed),
        Asks::Tick => String::new(),
    }
}

/// "9:05 to 9:20", also typed with a hyphen.
fn span(c: &mut Check, key: &str, typed: &str) -> String {
    if typed.is_empty() {
        return String::new();
    }
    let parts = typed.split_once(" to ").or_else(|| typed.split_once(['-', '–']));
    let Some((from, to)) = parts else {
        c.errors.add(key, "Enter two times of day, such as 9:05 to 9:20.");
        return String::new();
    };
    let (from, to) = (c.time(key, from.trim()), c.time(key, to.trim()));
    match (from, to) {
        (Some(from), Some(to)) if from < to => format!("{}:{:02} to {}:{:02}", from.0, from.1, to.0, to.1),
        (Some(_), Some(_)) => {
            c.errors.add(key, "The second time comes after the first.");
            String::new()
        }
        _ => String::new(),
    }
}
