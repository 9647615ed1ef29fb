//! What the caller is asked about one complaint: as typed, as kept, and as shown again.

use super::Complaint;
use crate::{
    catalogue::{Choice, RedFlag, Table, Urgency, catalogue},
    web::Check,
};

/// As many complaints as one call can hold.
pub const MOST: usize = 6;

/// As typed. Its fields are called `words-1`, `site-1` and so on, counted from one.
#[derive(Debug, Clone, Default)]
pub struct ComplaintForm {
    pub number: usize,
    pub words: String,
    pub site: String,
    pub since: String,
    pub onset: String,
    pub course: String,
    pub weight_bearing: String,
    pub shod_on: String,
    pub medicines: String,
    pub work: String,
}

/// As meant.
#[derive(Debug, Clone, Default)]
pub struct NewComplaint {
    pub words: String,
    pub site: String,
    pub since: String,
    pub onset: String,
    pub course: String,
    pub weight_bearing: String,
    pub shod_on: String,
    pub medicines: String,
    pub work: String,
}

impl NewComplaint {
    /// Of which only the words are known.
    pub fn of_words(words: &str) -> Self {
        NewComplaint { words: words.to_owned(), ..Self::default() }
    }
}

impl ComplaintForm {
    pub fn read(number: usize, get: impl Fn(&str) -> String) -> Self {
        let field = |name: &str| get(&format!("{name}-{number}"));
        ComplaintForm {
            number,
            words: field("words"),
            site: field("site"),
            since: field("since"),
            onset: field("onset"),
            course: field("course"),
            weight_bearing: field("weight_bearing"),
            shod_on: field("shod_on"),
            medicines: field("medicines"),
            work: field("work"),
        }
    }

    /// A kept complaint, to be edited.
    pub fn of(number: usize, c: &Complaint) -> Self {
        let c = c.clone();
        ComplaintForm {
            number,
            words: c.words,
            site: c.site,
            since: c.since,
            onset: c.onset,
            course: c.course,
            weight_bearing: c.weight_bearing,
            shod_on: c.shod_on,
            medicines: c.medicines,
            work: c.work,
        }
    }

    /// The name of one of its fields.
    pub fn name(&self, field: &str) -> String {
        format!("{field}-{}", self.number)
    }

    pub fn is_empty(&self) -> bool {
        [&self.words, &self.site, &self.since, &self.onset, &self.course, &self.weight_bearing]
            .into_iter()
            .chain([&self.shod_on, &self.medicines, &self.work])
            .all(|text| text.trim().is_empty())
    }

    pub fn check(&self, check: &mut Check) -> NewComplaint {
        let lists = &catalogue().complaint;
        let mut pick = |field: &str, picked: &str, table: &Table<Choice>| {
            let picked = picked.trim();
            if picked.is_empty() || table.get(picked).is_some() {
                return picked.to_owned();
            }
            check.errors.add(&self.name(field), "Choose one of the list.");
            String::new()
        };
        let site = pick("site", &self.site, &lists.sites);
        let since = pick("since", &self.since, &lists.since);
        let onset = pick("onset", &self.onset, &lists.onsets);
        let course = pick("course", &self.course, &lists.courses);
        let weight_bearing = pick("weight_bearing", &self.weight_bearing, &lists.weight_bearing);
        let missing = "Write down what the caller says is wrong.";
        NewComplaint {
            words: check.needed_words(&self.name("words"), &self.words, 2000, missing),
            site,
            since,
            onset,
            course,
            weight_bearing,
            shod_on: check.line(&self.name("shod_on"), &self.shod_on, 100),
            medicines: check.line(&self.name("medicines"), &self.medicines, 500),
            work: check.line(&self.name("work"), &self.work, 300),
        }
    }
}

impl Complaint {
    /// What was answered besides the words: question and answer.
    pub fn answers(&self) -> Vec<(&'static str, &str)> {
        let lists = &catalogue().complaint;
        [
            ("Where", named(&lists.sites, &self.site)),
            ("Weight", named(&lists.weight_bearing, &self.weight_bearing)),
            ("Since", named(&lists.since, &self.since)),
            ("Began", named(&lists.onsets, &self.onset)),
            ("Course", named(&lists.courses, &self.course)),
            ("Last shod or trimmed", &self.shod_on),
            ("Medicines given", &self.medicines),
            ("Work", &self.work),
        ]
        .into_iter()
        .filter(|(_, answer)| !answer.is_empty())
        .collect()
    }
}

/// A code in its words; one that is not in the list was typed and stands for itself.
fn named<'a>(table: &'static Table<Choice>, code: &'a str) -> &'a str {
    table.get(code).map_or(code, |choice| choice.name.as_str())
}

/// The red flag that an answer raises.
pub fn flag_of(choice: &Choice) -> Option<&'static RedFlag> {
    catalogue().red_flag(choice.red_flag.as_deref()?)
}

impl RedFlag {
    /// How soon, as the desk says it.
    pub fn urgency_words(&self) -> &'static str {
        self.urgency.words()
    }

    pub fn is_now(&self) -> bool {
        self.urgency == Urgency::Now
    }
}
