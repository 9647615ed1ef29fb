//! What the page sends, as typed, and what it means.
//!
//! `found` names question and answer in one, `EFF:2`, so that one tap can say both; `was` names the entry that
//! the answer corrects.

use serde::Deserialize;

use super::{
    question::{Question, TESTER_FINDING},
    stamp::Stamped,
};
use crate::{
    catalogue::{Field, FieldKind, Finding, FindingKind, Place, Row, catalogue},
    record::{Body, Kind},
    web::{Check, Errors},
};

pub(super) const LONGEST_NOTE: usize = 2000;
pub(super) const LONGEST_REASON: usize = 300;

/// All fields that any form of the page sends.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Typed {
    pub submission: String,
    pub order: String,
    pub seen_by: String,
    /// The tablet's clock when it was tapped and when it was sent, in milliseconds.
    pub seen_at: String,
    pub sent_at: String,
    /// Ids that the tablet made for the entries.
    pub entry: Vec<String>,
    pub place: String,
    pub found: String,
    pub was: String,
    /// One part of the horse, or the same part of a pair of limbs.
    pub section: Vec<String>,
    /// A sweep to undo; or the ids that the tablet gave to the sweeps it makes.
    pub sweep: Vec<String>,
    pub aspect: String,
    pub answer: String,
    pub note: String,
    pub reason: String,
    pub value: Vec<String>,
    pub quality: Vec<String>,
    pub extra: Vec<String>,
}

impl Typed {
    /// Whose words these are.
    pub(super) fn stamped(&self) -> Stamped {
        Stamped {
            submission: self.submission.clone(),
            seen_by: self.seen_by.clone(),
            seen_at: self.seen_at.clone(),
            sent_at: self.sent_at.clone(),
            entry: self.entry.clone(),
        }
    }
}

/// Reads the place.
pub(super) fn place(check: &mut Check, typed: &Typed) -> Option<Place> {
    let place = typed.place.trim().parse().ok();
    if place.is_none() {
        check.errors.add("place", "There is no such place on the horse.");
    }
    place
}

/// An id that the page sent; empty is `None`.
pub(super) fn id<T: std::str::FromStr>(check: &mut Check, field: &str, typed: &str) -> Option<T> {
    if typed.trim().is_empty() {
        return None;
    }
    let id = typed.trim().parse().ok();
    if id.is_none() {
        check.errors.add(field, "This cannot be read; open the page again.");
    }
    id
}

/// Why an entry is taken back or a place could not be examined; it must not be empty.
pub(super) fn reason(check: &mut Check, typed: &Typed, missing: &str) -> String {
    check.needed("reason", &typed.reason, LONGEST_REASON, missing)
}

/// "Nothing found" at a place.
pub(super) fn nothing_at(place: Place) -> Body {
    let mut body = at(Kind::Place, place);
    body.present = Some(false);
    body
}

/// "Could not be examined".
pub(super) fn barred_at(place: Place, why: &str) -> Body {
    let mut body = at(Kind::Place, place);
    body.text = Some(why.to_owned());
    body
}

/// An entry that speaks of a place.
fn at(kind: Kind, place: Place) -> Body {
    let mut body = Body::new(kind);
    body.region = Some(place.region().code.clone());
    body.side = Some(place.side().code().to_owned());
    body.limb = place.limb().map(|limb| limb.code().to_owned());
    body
}

/// Reads a finding: question, answer and what was added to it.
pub(super) fn finding(typed: &Typed) -> Result<(Place, Body), Errors> {
    let mut check = Check::new();
    let Some(place) = place(&mut check, typed) else { return Err(check.errors) };
    let (code, answer) = typed.found.trim().split_once(':').unwrap_or((typed.found.trim(), ""));
    let Some(question) = Question::find(place, code) else {
        check.errors.add("found", "This cannot be found at that place.");
        return Err(check.errors);
    };
    let mut body = at(Kind::Finding, place);
    body.code = Some(code.to_owned());
    let read = Reader { check: &mut check, typed, answer: answer.trim() };
    read.into_body(question, &mut body);
    check.done((place, body))
}

/// Reads one answer into an entry.
struct Reader<'a> {
    check: &'a mut Check,
    typed: &'a Typed,
    answer: &'a str,
}

impl Reader<'_> {
    fn into_body(mut self, question: Question, body: &mut Body) {
        self.asides(body);
        match question {
            Question::Finding(finding) => self.finding(finding, question, body),
            Question::Field(field) => self.field(field, question, body),
            Question::Site(site) => {
                body.region = Some(site.code.clone());
                body.code = Some(TESTER_FINDING.to_owned());
                self.graded(question, body);
            }
            Question::Score(_) => self.graded(question, body),
        }
    }

    /// Aspect, qualities and note: any finding may have them.
    fn asides(&mut self, body: &mut Body) {
        let aspect = self.typed.aspect.trim();
        if !aspect.is_empty() {
            if catalogue().modifiers.aspects.iter().all(|row| row.code() != aspect) {
                self.check.errors.add("aspect", "Choose an aspect of the list.");
            }
            body.aspect = Some(aspect.to_owned());
        }
        let note = self.check.words("note", &self.typed.note, LONGEST_NOTE);
        body.text = Some(note).filter(|note| !note.is_empty());
    }

    fn finding(&mut self, finding: &'static Finding, question: Question, body: &mut Body) {
        match finding.kind {
            FindingKind::Graded => self.graded(question, body),
            FindingKind::YesNo => self.yes_no(body),
            FindingKind::Picks => self.pick(question, body, true),
            FindingKind::Text | FindingKind::Status => {
                body.present = Some(true);
                if body.text.is_none() && self.check.errors.on("note").is_none() {
                    self.check.errors.add("note", "Say in words what was found.");
                }
            }
        }
        self.qualities(finding, body);
        if let Some(unit) = finding.measure_unit.as_deref() {
            body.number = self.check.number("answer", &self.typed.answer, 0.0..=1000.0, unit);
        }
    }

    fn graded(&mut self, question: Question, body: &mut Body) {
        let Some(scale) = question.scale() else { return };
        body.scale = Some(scale.code.clone());
        if scale.marks.iter().any(|mark| mark.code == self.answer) {
            body.value = Some(self.answer.to_owned());
            return;
        }
        if let Some(grade) = self.answer.parse::<f64>().ok().filter(|grade| scale.allows(*grade)) {
            body.grade = Some(grade);
            body.present = Some(grade > 0.0);
        } else {
            let (low, high) = scale.range();
            let words = format!("Choose a grade from {low} to {high} for {}.", question.label());
            self.check.errors.add("found", words);
        }
    }

    fn yes_no(&mut self, body: &mut Body) {
        match self.answer {
            "" | "yes" => body.present = Some(true),
            "no" => body.present = Some(false),
            _ => self.check.errors.add("found", "Answer yes or no."),
        }
    }

    fn pick(&mut self, question: Question, body: &mut Body, abnormal: bool) {
        if question.answers().iter().any(|answer| answer.value == self.answer) {
            body.value = Some(self.answer.to_owned());
            body.present = abnormal.then_some(true);
        } else {
            self.check.errors.add("found", format!("Choose an answer of the list for {}.", question.label()));
        }
    }

    fn field(&mut self, field: &'static Field, question: Question, body: &mut Body) {
        match field.kind {
            FieldKind::Pick => {
                self.pick(question, body, false);
                body.present = judged(field, &[self.answer]);
            }
            FieldKind::Picks => self.picks(field, body),
            FieldKind::Number => self.measured(field, body),
            FieldKind::Scale => self.graded(question, body),
            FieldKind::YesNo => self.yes_no(body),
            FieldKind::Date => {
                let day = self.check.day("answer", &self.typed.answer);
                if self.typed.answer.trim().is_empty() {
                    self.check.errors.add("answer", "Enter a date, such as 12 Mar 2026.");
                }
                body.value = day.map(|day| day.to_string());
            }
        }
    }

    fn picks(&mut self, field: &'static Field, body: &mut Body) {
        let picked: Vec<&str> = self.typed.value.iter().map(|value| value.trim()).collect();
        if picked.is_empty() || picked.iter().any(|value| field.pick(value).is_none()) {
            self.check.errors.add("value", format!("Choose from the list for {}.", field.label));
            return;
        }
        body.present = judged(field, &picked);
        body.value = Some(picked.join(" "));
    }

    fn measured(&mut self, field: &'static Field, body: &mut Body) {
        let (low, high) = (field.min.unwrap_or(0.0), field.max.unwrap_or(1000.0));
        let unit = field.unit.as_deref().unwrap_or_default();
        body.number = self.check.number("answer", &self.typed.answer, low..=high, unit);
        if self.typed.answer.trim().is_empty() {
            self.check.errors.add("answer", format!("Enter a number from {low} to {high} {unit}."));
        }
    }

    /// Ticked qualities must be the finding's own; typed ones are kept with their label and unit.
    fn qualities(&mut self, finding: &'static Finding, body: &mut Body) {
        let known = quality_words(finding);
        if self.typed.quality.iter().any(|quality| !known.contains(quality)) {
            self.check.errors.add("quality", "Choose qualities of the list.");
        }
        body.qualities.clone_from(&self.typed.quality);
        for (attribute, typed) in typed_attributes(finding).zip(&self.typed.extra) {
            let words = self.check.line("extra", typed, 100);
            let unit = attribute.unit.as_deref().unwrap_or_default();
            if !words.is_empty() {
                let bare = words.strip_suffix(unit).unwrap_or(&words).trim();
                let said = format!("{}: {bare} {unit}", attribute.label.to_lowercase());
                body.qualities.push(said.trim_end().to_owned());
            }
        }
    }
}

/// Whether a foot item's picks are abnormal: normal picks are not, and a single choice without a normal one only
/// describes.
fn judged(field: &Field, picked: &[&str]) -> Option<bool> {
    let has_normal = field.picks.iter().any(|pick| pick.normal);
    if !has_normal && field.kind == FieldKind::Pick {
        return None;
    }
    Some(picked.iter().any(|code| field.pick(code).is_none_or(|pick| !pick.normal)))
}

/// The qualities of a finding that are ticked, in the words that are kept: "firm", "pits: yes".
pub(super) fn quality_words(finding: &Finding) -> Vec<String> {
    let picked = finding.attributes.iter().skip(usize::from(finding.kind == FindingKind::Picks));
    picked.flat_map(|a| a.picks.iter().map(|pick| quality_word(a, pick))).collect()
}

fn quality_word(attribute: &crate::catalogue::Attribute, pick: &str) -> String {
    if matches!(pick, "yes" | "no" | "unknown") {
        format!("{}: {pick}", attribute.label.to_lowercase())
    } else {
        pick.to_owned()
    }
}

/// The qualities that are typed: a size, an area, a muscle.
pub(super) fn typed_attributes(finding: &Finding) -> impl Iterator<Item = &crate::catalogue::Attribute> {
    finding.attributes.iter().filter(|attribute| attribute.picks.is_empty())
}
