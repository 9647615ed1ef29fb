//! What a veterinarian looks over before signing: what was examined and what was not, what came from sweeps, what
//! was overridden, who else wrote, and what is missing.

use std::collections::HashMap;

use super::{Part, case::Case};
use crate::{
    catalogue::{Limb, Section, catalogue},
    exam::state::{ExamState, Status},
    ids::StaffId,
    record::{Body, Entry, Kind},
};

#[derive(Debug, Clone, Default)]
pub(super) struct Review {
    /// Places with an entry that says what was seen there.
    pub examined: usize,
    pub abnormal: usize,
    pub not_examined: usize,
    pub unseen: Vec<Unseen>,
    /// Places that could not be examined, and why.
    pub prevented: Vec<(String, String)>,
    /// Rows that stand because one gesture recorded them.
    pub swept: usize,
    pub sweeps: Vec<Sweep>,
    /// What was done besides hands: `flexion tests`, 4.
    pub tests: Vec<(&'static str, usize)>,
    pub overrides: Vec<Override>,
    pub others: Vec<(String, usize)>,
    /// Not blocks: plain lines about what a signed visit usually has.
    pub missing: Vec<String>,
}

/// The places of one section that nobody looked at.
#[derive(Debug, Clone)]
pub(super) struct Unseen {
    pub section: String,
    pub of: usize,
    pub places: Vec<String>,
}

#[derive(Debug, Clone)]
pub(super) struct Sweep {
    pub section: String,
    /// The first place it covered.
    pub from: String,
    pub rows: usize,
    pub by: String,
}

/// A caution that was passed with a reason.
#[derive(Debug, Clone)]
pub(super) struct Override {
    pub caution: String,
    pub reason: String,
    pub by: String,
}

impl Review {
    pub(super) fn of(case: &Case, signer: StaffId) -> Self {
        let entries: Vec<(&Entry, &Body)> =
            case.current.iter().filter_map(|e| e.body.as_ref().map(|b| (e, b))).collect();
        let mut review = Review::default();
        let state = ExamState::fold(&case.current);
        review.read_places(&state);
        review.read_sweeps(case, &state);
        review.read_tests(&entries);
        review.overrides = overrides(case, &entries);
        review.others = others(case, signer);
        review.missing = missing(case, &review);
        review
    }

    /// What the signature says, in the words that the chain keeps.
    pub(super) fn summary(&self, case: &Case, signer: StaffId) -> String {
        format!(
            "horse {}; signer {signer}; examined {}; abnormal {}; not examined {}; swept {} in {}; entries {}; newest {}",
            case.card.id,
            self.examined,
            self.abnormal,
            self.not_examined,
            self.swept,
            self.sweeps.len(),
            case.current.len(),
            case.newest(),
        )
    }

    fn read_places(&mut self, state: &ExamState) {
        for section in sections() {
            let all = section.places();
            let mut places = Vec::new();
            for place in &all {
                let known = state.at(*place);
                match known.status() {
                    Status::NotExamined => places.push(place.to_string()),
                    Status::NothingFound => self.examined += 1,
                    Status::Abnormal { .. } => {
                        self.examined += 1;
                        self.abnormal += 1;
                    }
                    Status::NotPossible => {
                        let why = known.barred.iter().filter_map(|line| line.body.text.clone());
                        self.prevented.push((place.to_string(), why.collect::<Vec<_>>().join("; ")));
                        places.push(place.to_string());
                    }
                }
            }
            self.not_examined += places.len();
            if !places.is_empty() {
                self.unseen.push(Unseen { section: words(section), of: all.len(), places });
            }
        }
    }

    fn read_sweeps(&mut self, case: &Case, state: &ExamState) {
        for known in &state.sweeps {
            let places = &known.places;
            let Some(first) = places.iter().min() else { continue };
            let made = |e: &&Entry| e.body.as_ref().is_some_and(|b| b.sweep == Some(known.id));
            self.swept += places.len();
            self.sweeps.push(Sweep {
                section: words(Section::of(*first)),
                from: first.to_string(),
                rows: places.len(),
                by: case.current.iter().find(made).map_or(String::new(), |e| case.by_line(e)),
            });
        }
    }

    fn read_tests(&mut self, entries: &[(&Entry, &Body)]) {
        for (kind, words) in [
            (Kind::Vital, "vital signs"),
            (Kind::Gait, "gait grades"),
            (Kind::Flexion, "flexion tests"),
            (Kind::Neuro, "neurological items"),
        ] {
            self.tests.push((words, entries.iter().filter(|(_, b)| b.kind == kind).count()));
        }
    }
}

/// The axial series, then each limb with its foot.
fn sections() -> impl Iterator<Item = Section> {
    let limbs = Limb::ALL.into_iter().flat_map(|limb| [Section::Limb(limb), Section::Foot(limb)]);
    std::iter::once(Section::Axial).chain(limbs)
}

fn words(section: Section) -> String {
    match section {
        Section::Axial => "head, neck, trunk and pelvis".to_owned(),
        Section::Limb(limb) => format!("{} limb", limb.name()),
        Section::Foot(limb) => format!("{} foot", limb.name()),
    }
}

fn overrides(case: &Case, entries: &[(&Entry, &Body)]) -> Vec<Override> {
    let passed = entries.iter().filter(|(_, body)| body.kind == Kind::Override);
    passed
        .map(|(entry, body)| {
            let code = body.code.as_deref().unwrap_or_default();
            Override {
                caution: catalogue().caution(code).map_or(code, |c| c.name.as_str()).to_owned(),
                reason: body.reason.clone().or_else(|| body.text.clone()).unwrap_or_default(),
                by: case.by_line(entry),
            }
        })
        .collect()
}

/// How many entries somebody else than the signer saw or typed, by name.
fn others(case: &Case, signer: StaffId) -> Vec<(String, usize)> {
    let mut counts: HashMap<StaffId, usize> = HashMap::new();
    for entry in &case.current {
        let mut who = vec![entry.seen_by];
        if entry.entered_by != entry.seen_by {
            who.push(entry.entered_by);
        }
        for person in who.into_iter().filter(|p| *p != signer) {
            *counts.entry(person).or_default() += 1;
        }
    }
    let mut named: Vec<_> = counts.into_iter().map(|(id, n)| (case.name_of(id).to_owned(), n)).collect();
    named.sort();
    named
}

/// Somebody will see to the horse all the same.
const EARLIER_IS_OPEN: &str =
    "No follow-up was planned in this visit; one from an earlier visit is still open.";

fn missing(case: &Case, review: &Review) -> Vec<String> {
    let mut lines = Vec::new();
    for (part, line) in [
        (Part::History, "No history was written down."),
        (Part::Problem, "No problem was named."),
        (Part::Plan, "No plan was written."),
        (Part::FollowUp, "No follow-up was planned."),
    ] {
        if !case.has(part) {
            let earlier = part == Part::FollowUp && !case.follow_ups.is_empty();
            lines.push(if earlier { EARLIER_IS_OPEN } else { line }.to_owned());
        }
    }
    if review.examined == 0 {
        lines.push("No place of the horse was examined.".to_owned());
    }
    lines
}
