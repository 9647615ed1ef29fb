//! The forms of an order's page as they are sent, and what they mean.

use serde::Deserialize;

use super::form::TypedDetails;
use crate::{
    catalogue::{StudyKind, catalogue},
    ids::OrderId,
    plan::Site,
    record::{Body, Kind},
    web::{Check, Errors},
};

const LONGEST_REPORT: usize = 9_000;
const LONGEST_LINE: usize = 500;

/// One struct for every form of the page: what a form does not ask for stays empty.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct Said {
    pub submission: String,
    pub version: String,
    /// Of an item: where it stands from now on, and why.
    pub state: String,
    pub reason: String,
    /// The report, and who wrote it when it came from outside.
    pub report: String,
    pub author: String,
    /// Codes of the classes that a report of muscle is sorted into.
    pub class: Vec<String>,
    /// Key of a place that was tapped; words of one that was typed stand over it.
    pub site: String,
    pub other_site: String,
    pub shows: String,
    pub clear: String,
    /// The entry that is amended, and why; why it is taken back.
    pub was: String,
    pub why: String,
    pub why_back: String,
    /// Whom of the client's, and how.
    pub told: String,
    /// `yes` from the form that says why nobody has to be told.
    pub nobody: String,
    pub untold: String,
    pub closed: String,
    /// The line of the list that is ticked, or whose tick is taken back.
    pub ready: String,
    pub unready: String,
    /// What a file is, from the form that sent one.
    pub file_words: String,
    /// Of the form that changes the order; empty in all others.
    #[serde(flatten)]
    pub details: TypedDetails,
}

impl super::sent::Typed for Said {
    fn submission(&self) -> &str {
        &self.submission
    }
}

impl Said {
    /// The form of a result as it stands, to be amended.
    pub(super) fn of_entry(body: &Body) -> Self {
        let words = body.text.clone().unwrap_or_default();
        let site = Site::of(body);
        match body.kind {
            Kind::Report => {
                let author = body.held_by.clone().unwrap_or_default();
                Said { report: words, author, class: body.qualities.clone(), ..Said::default() }
            }
            _ => Said {
                shows: words,
                clear: if body.present == Some(false) { "yes".into() } else { String::new() },
                other_site: if site == Site::Whole { String::new() } else { site.to_string() },
                ..Said::default()
            },
        }
    }

    /// The classes of the catalogue that were ticked, for a report of muscle.
    fn classes(&self, kind: StudyKind) -> Vec<String> {
        let all = catalogue().diagnostics.samples.result_classes.iter();
        let ticked = all.filter(|row| kind == StudyKind::Biopsy && self.class.contains(&row.code));
        ticked.map(|row| row.code.clone()).collect()
    }

    /// A report; `title` says of what, `images` are the files that it rests on.
    pub(super) fn check_report(
        &self,
        (order, kind): (OrderId, StudyKind),
        title: &str,
        images: Vec<String>,
    ) -> Result<Body, Errors> {
        let mut check = Check::new();
        let text = check.needed_words("report", &self.report, LONGEST_REPORT, "Write what the report says.");
        let author = check.line("author", &self.author, LONGEST_LINE);
        let reason = self.read_why(&mut check);
        check.done(Body {
            text: Some(text),
            held_by: Some(author).filter(|author| !author.is_empty()),
            order: Some(order),
            value: Some(title.to_owned()),
            images,
            qualities: self.classes(kind),
            reason,
            ..Body::new(Kind::Report)
        })
    }

    /// What is seen at a place, or that nothing out of the ordinary is.
    pub(super) fn check_shown(&self, order: OrderId, kind: StudyKind) -> Result<Body, Errors> {
        let mut check = Check::new();
        let clear = self.clear == "yes";
        let text = check.line("shows", &self.shows, LONGEST_LINE);
        if text.is_empty() && !clear {
            check.errors.add("shows", "Say what it shows, or tick that nothing is out of the ordinary.");
        }
        let site = self.read_site(&mut check);
        let reason = self.read_why(&mut check);
        let mut body = Body {
            code: Some(kind.code().to_owned()),
            present: Some(!clear),
            text: Some(text).filter(|text| !text.is_empty()),
            order: Some(order),
            reason,
            ..Body::new(Kind::Shown)
        };
        site.put(&mut body);
        check.done(body)
    }

    fn read_site(&self, check: &mut Check) -> Site {
        let (field, typed) = match self.other_site.trim() {
            "" if self.was.is_empty() => ("site", self.site.trim()),
            // A result that is amended shows its place in words.
            "" => ("other_site", ""),
            typed => ("other_site", typed),
        };
        let site = if typed.is_empty() { None } else { Site::read(typed) };
        site.unwrap_or_else(|| {
            check.errors.add(field, "Choose a place, such as left fore fetlock, dorsal.");
            Site::Whole
        })
    }

    /// A new result needs no reason; one that takes another's place does.
    fn read_why(&self, check: &mut Check) -> Option<String> {
        if self.was.is_empty() {
            return None;
        }
        Some(check.needed("why", &self.why, LONGEST_LINE, "Say why; both versions stay in the record."))
    }

    /// Why a result is taken back.
    pub(super) fn check_withdrawal(&self, order: OrderId) -> Result<Body, Errors> {
        let mut check = Check::new();
        let reason = check.needed(
            "why_back",
            &self.why_back,
            LONGEST_LINE,
            "Say why; it stays in the record as taken back.",
        );
        check.done(Body { reason: Some(reason), order: Some(order), ..Body::new(Kind::Withdrawal) })
    }

    /// One line that is needed, such as a reason.
    pub(super) fn check_line(field: &str, typed: &str, missing: &str) -> Result<String, Errors> {
        let mut check = Check::new();
        let line = check.needed(field, typed, LONGEST_LINE, missing);
        check.done(line)
    }
}
