//! A sheet as it is typed, and what that means.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::{
    catalogue::{
        Limb, catalogue,
        procedures::{Field, FieldKind, Sheet},
    },
    clock::Day,
    plan::Site,
    record::{Body, Kind},
    web::{Check, Errors},
};

const LONGEST: usize = 500;
pub(super) const FARRIERY: &str = "farriery";
pub(super) const JOINT: &str = "joint";
/// The day on which the farrier comes again.
const NEXT: &str = "farriery_next";
/// What is measured before shoeing, when nobody typed it.
const BEFORE: &str = "farriery_before";

#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    /// The entry that is amended, and why.
    pub was: String,
    pub why: String,
    /// The foot, or the place in words.
    pub site: String,
    #[serde(flatten)]
    pub answers: BTreeMap<String, String>,
}

impl Typed {
    /// The form of an entry as it stands, to be amended.
    pub(super) fn of(sheet: &Sheet, was: &str, body: &Body) -> Self {
        let site = Site::of(body);
        let site = if sheet.code == FARRIERY { site.key() } else { site.to_string() };
        Typed { was: was.to_owned(), site, answers: body.answers.clone(), ..Typed::default() }
    }

    pub(super) fn value(&self, code: &str) -> &str {
        self.answers.get(code).map_or("", String::as_str)
    }

    /// What is meant. `measured` tells what the radiographs of a foot say.
    pub(super) fn check(
        &self,
        sheet: &Sheet,
        measured: impl Fn(Limb) -> Option<String>,
    ) -> Result<Body, Errors> {
        let mut check = Check::new();
        let site = Site::read(&self.site).filter(|site| match site {
            Site::Limb(_) => sheet.code == FARRIERY,
            Site::Place(_) => sheet.code == JOINT,
            Site::Whole => false,
        });
        if site.is_none() {
            check.errors.add("site", "Choose from the list.");
        }
        let mut answers = BTreeMap::new();
        for field in catalogue().procedures.of(&sheet.code) {
            let answer = read(&mut check, field, self.value(&field.code));
            if !answer.is_empty() {
                answers.insert(field.code.clone(), answer);
            }
        }
        if answers.is_empty() && check.errors.is_empty() {
            check.errors.add("site", "Fill in one field at least.");
        }
        if let (Some(Site::Limb(limb)), None) = (site, answers.get(BEFORE))
            && let Some(words) = measured(limb)
        {
            answers.insert(BEFORE.to_owned(), words);
        }
        let reason = (!self.was.is_empty())
            .then(|| check.needed("why", &self.why, LONGEST, "Say why; both versions stay in the record."));
        let kind = if sheet.code == FARRIERY { Kind::Plan } else { Kind::Treatment };
        let text = Some(format!("{}: {}", sheet.name, words(sheet, &answers)));
        let mut body = Body { code: Some(sheet.code.clone()), text, reason, answers, ..Body::new(kind) };
        site.unwrap_or(Site::Whole).put(&mut body);
        check.done(body)
    }
}

fn read(check: &mut Check, field: &Field, typed: &str) -> String {
    let (code, typed) = (field.code.as_str(), typed.trim());
    if field.needed && typed.is_empty() {
        check.errors.add(code, "Choose from the list.");
        return String::new();
    }
    match field.kind {
        FieldKind::Text => check.line(code, typed, LONGEST),
        FieldKind::Number => {
            let range = field.low.unwrap_or_default()..=field.high.unwrap_or_default();
            check.number(code, typed, range, &field.unit).map_or_else(String::new, |n| n.to_string())
        }
        FieldKind::Date => check.day(code, typed).map_or_else(String::new, |day| day.to_string()),
        FieldKind::Choice if typed.is_empty() || field.options.iter().any(|one| one == typed) => {
            typed.to_owned()
        }
        FieldKind::Choice => {
            check.errors.add(code, "Choose from the list.");
            String::new()
        }
    }
}

/// The answers in the order of the sheet: label and words.
pub(super) fn pairs(sheet: &Sheet, answers: &BTreeMap<String, String>) -> Vec<(String, String)> {
    let pair = |field: &Field| {
        let answer = answers.get(&field.code)?;
        let words = match field.kind {
            FieldKind::Date => answer.parse::<Day>().map_or_else(|_| answer.clone(), Day::words),
            FieldKind::Number => format!("{answer} {}", field.unit),
            FieldKind::Text | FieldKind::Choice => answer.clone(),
        };
        Some((field.name.clone(), words))
    };
    catalogue().procedures.of(&sheet.code).filter_map(pair).collect()
}

fn words(sheet: &Sheet, answers: &BTreeMap<String, String>) -> String {
    let pairs =
        pairs(sheet, answers).into_iter().map(|(name, words)| format!("{}: {words}", name.to_lowercase()));
    pairs.collect::<Vec<_>>().join("; ")
}

/// When the farrier comes again.
pub(super) fn next_reset(body: &Body) -> Option<Day> {
    body.answers.get(NEXT)?.parse().ok()
}
