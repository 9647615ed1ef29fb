//! The parts of the assessment page: what each holds in lines, and the one form that is open.

use super::{Part, Site, case::Case, choices::choices, form::Typed};
use crate::{
    followups,
    ids::EntryId,
    papers::words::{self, Units},
    record::{self, Body},
};

/// A part of the page with what it holds.
pub(super) struct Section {
    pub part: Part,
    pub lines: Vec<Line>,
    /// Its form, when it is the one that is open.
    pub sheet: Option<Sheet>,
    pub may_write: bool,
}

pub(super) struct Line {
    /// Where it can be changed; nowhere for a follow-up.
    pub id: Option<EntryId>,
    /// The word that stands before it: certainty and place, or the day.
    pub head: String,
    pub text: String,
    pub by: String,
}

/// The open form.
pub(super) struct Sheet {
    pub typed: Typed,
    /// The entry being changed.
    pub changing: Option<EntryId>,
    /// Sites found abnormal in this visit, as buttons.
    pub near_sites: Vec<(String, String)>,
    pub certainties: Vec<(&'static str, String)>,
    pub near_days: Vec<(&'static str, String)>,
}

/// What a part holds, line by line.
pub(super) fn lines(case: &Case, part: Part) -> Vec<Line> {
    if part == Part::FollowUp {
        return case.follow_ups.iter().map(|f| follow_up_line(case, f)).collect();
    }
    let line = |(entry, body): (&record::Entry, &Body)| {
        let site = Site::of(body);
        let place = if site == Site::Whole { String::new() } else { site.to_string() };
        let certainty = body.value.as_deref().and_then(|v| choices().certainty(v));
        let certainty = certainty.map_or(String::new(), |c| c.name.clone());
        let head: Vec<String> = [certainty, place].into_iter().filter(|w| !w.is_empty()).collect();
        // What was told at the needle is put right there: here it would lose its parts.
        let in_words =
            body.text.is_some() && body.given.is_none() && body.dosed.is_none() && body.answers.is_empty();
        Line {
            id: in_words.then_some(entry.id),
            head: if in_words { head.join(", ") } else { String::new() },
            text: body
                .text
                .clone()
                .filter(|_| in_words)
                .unwrap_or_else(|| words::sentence(body, Units::default())),
            by: case.by_line(entry),
        }
    };
    case.of_part(part).map(line).collect()
}

fn follow_up_line(case: &Case, f: &followups::FollowUp) -> Line {
    let by = if case.is_of_this(f) { "from this visit" } else { "from an earlier visit" };
    Line { id: None, head: f.due_on.words(), text: f.what.clone(), by: by.to_owned() }
}

impl Sheet {
    pub(super) fn new(case: &Case, changing: Option<EntryId>, typed: Typed) -> Self {
        let near_day = |d: &'static super::NearDay| {
            let day = case.today.plus_days(d.days);
            (d.code.as_str(), format!("{}, {}", d.name, day.short()))
        };
        Sheet {
            typed,
            changing,
            near_sites: case.abnormal_sites().into_iter().map(|s| (s.key(), s.to_string())).collect(),
            certainties: choices()
                .certainty
                .iter()
                .map(|c| (c.code.as_str(), format!("{}: {}", c.name, c.meaning)))
                .collect(),
            near_days: choices().near_day.iter().map(near_day).collect(),
        }
    }

    pub(super) fn other_label(&self) -> &'static str {
        if self.near_sites.is_empty() { "Where" } else { "Or another place" }
    }

    /// The words of every site, for the list that filters as one types.
    #[expect(clippy::unused_self, reason = "a template calls what it was given")]
    pub(super) fn all_sites(&self) -> Vec<String> {
        Site::all().map(|s| s.to_string()).collect()
    }
}
