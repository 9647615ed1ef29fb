//! What is known of each place: the visit's standing entries, folded.
//!
//! Three states are never confused: a place is not examined until somebody says something about it; nothing was
//! found there; or something was. A place that could not be examined says why. What two people say about one
//! place stands side by side.

use std::collections::HashMap;

use crate::{
    body::{Mark, State as Look},
    catalogue::{Place, catalogue},
    clock::At,
    ids::{EntryId, StaffId, SweepId},
    record::{Body, Entry, Kind},
};

/// One standing entry about a place.
#[derive(Debug, Clone)]
pub struct Line {
    pub entry: EntryId,
    pub seq: i64,
    pub body: Body,
    pub seen_by: StaffId,
    pub entered_by: StaffId,
}

/// All that stands about one place, in order of receipt.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// Signs that are there, and what was measured or noted.
    pub signs: Vec<Line>,
    /// Signs that were looked for and are not there.
    pub negatives: Vec<Line>,
    /// "Nothing found", by hand or by a sweep.
    pub clear: Vec<Line>,
    /// "Could not be examined", with the reason.
    pub barred: Vec<Line>,
}

/// What a place's entries come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Status {
    NotExamined,
    NothingFound,
    /// The highest grade given here, on whatever scale.
    Abnormal {
        grade: Option<f64>,
    },
    /// Somebody tried, and wrote down why it could not be done.
    NotPossible,
}

impl Known {
    pub fn status(&self) -> Status {
        let there = || self.signs.iter().filter(|line| line.body.present == Some(true));
        if there().next().is_some() {
            let grade = there().filter_map(|line| line.body.grade).max_by(f64::total_cmp);
            Status::Abnormal { grade }
        } else if !self.clear.is_empty() || !self.negatives.is_empty() || !self.signs.is_empty() {
            Status::NothingFound
        } else if self.barred.is_empty() {
            Status::NotExamined
        } else {
            Status::NotPossible
        }
    }

    /// Whether somebody said anything, be it why nothing could be said.
    pub fn is_recorded(&self) -> bool {
        self.status() != Status::NotExamined
    }

    pub fn is_abnormal(&self) -> bool {
        matches!(self.status(), Status::Abnormal { .. })
    }

    pub fn mark(&self) -> Mark {
        Mark::from(match self.status() {
            Status::NotExamined | Status::NotPossible => Look::NotExamined,
            Status::NothingFound => Look::NothingFound,
            Status::Abnormal { grade } => Look::Abnormal { grade },
        })
    }

    /// Everything said here, newest last.
    pub fn lines(&self) -> Vec<&Line> {
        let mut all: Vec<&Line> =
            self.signs.iter().chain(&self.negatives).chain(&self.clear).chain(&self.barred).collect();
        all.sort_by_key(|line| line.seq);
        all
    }

    fn add(&mut self, line: Line) {
        let list = match (line.body.kind, line.body.present) {
            (Kind::Place, Some(false)) => &mut self.clear,
            (Kind::Place, _) => &mut self.barred,
            (_, Some(false)) => &mut self.negatives,
            _ => &mut self.signs,
        };
        list.push(line);
    }
}

/// What of one sweep still stands.
#[derive(Debug, Clone)]
pub struct Sweep {
    pub id: SweepId,
    pub at: At,
    pub by: StaffId,
    pub places: Vec<Place>,
}

/// Every place of the horse as one visit knows it.
#[derive(Debug, Clone, Default)]
pub struct ExamState {
    places: HashMap<String, Known>,
    /// The sweeps of the visit, in order of receipt.
    pub sweeps: Vec<Sweep>,
}

impl ExamState {
    /// Folds the standing entries of a visit; those of other kinds, and erased ones, say nothing here.
    pub fn fold(entries: &[Entry]) -> Self {
        let mut state = Self::default();
        for entry in entries {
            let Some(body) = &entry.body else { continue };
            if matches!(body.kind, Kind::Place | Kind::Finding) {
                state.take(entry, body);
            }
        }
        state
    }

    fn take(&mut self, entry: &Entry, body: &Body) {
        let Some(place) = place_of(body) else { return };
        if let Some(sweep) = body.sweep {
            match self.sweeps.iter_mut().find(|known| known.id == sweep) {
                Some(known) => known.places.push(place),
                None => self.sweeps.push(Sweep {
                    id: sweep,
                    at: entry.seen(),
                    by: entry.seen_by,
                    places: vec![place],
                }),
            }
        }
        self.places.entry(place.key()).or_default().add(Line {
            entry: entry.id,
            seq: entry.seq,
            body: body.clone(),
            seen_by: entry.seen_by,
            entered_by: entry.entered_by,
        });
    }

    pub fn at(&self, place: Place) -> &Known {
        static NOTHING: Known =
            Known { signs: Vec::new(), negatives: Vec::new(), clear: Vec::new(), barred: Vec::new() };
        self.places.get(&place.key()).unwrap_or(&NOTHING)
    }

    /// How many of these places somebody looked at, and how many are abnormal.
    pub fn count(&self, places: impl Iterator<Item = Place>) -> Count {
        let mut count = Count::default();
        for known in places.map(|place| self.at(place)) {
            count.all += 1;
            count.recorded += usize::from(known.is_recorded());
            count.abnormal += usize::from(known.is_abnormal());
        }
        count
    }
}

/// How far a section has come.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Count {
    pub all: usize,
    pub recorded: usize,
    pub abnormal: usize,
}

impl Count {
    pub fn is_done(self) -> bool {
        self.recorded == self.all
    }

    /// "12 of 18 looked at, 1 abnormal"
    pub fn words(self) -> String {
        let looked = match (self.recorded, self.all) {
            (0, all) => format!("{all} places, none looked at"),
            (n, all) if n == all => format!("all {all} looked at"),
            (n, all) => format!("{n} of {all} looked at"),
        };
        if self.abnormal == 0 { looked } else { format!("{looked}, {} abnormal", self.abnormal) }
    }
}

/// The place an entry speaks of; a hoof-tester site stands under the testers of its foot.
pub fn place_of(body: &Body) -> Option<Place> {
    let region = body.region.as_deref()?;
    if catalogue().tester_site(region).is_some() {
        return Place::on("FT_HT", body.limb.as_deref()?.parse().ok()?).ok();
    }
    let limb = body.limb.as_deref().map(str::parse).transpose().ok()?;
    Place::new(region, body.side.as_deref()?.parse().ok()?, limb).ok()
}
