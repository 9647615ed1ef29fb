//! The rows of the page as they are shown.

use std::collections::HashMap;

use super::{
    picker::Picker,
    say,
    sections::{AROUND, Part, Progress, Row, Stage},
    state::{Count, ExamState, Known, Status},
    store::Last,
    way::Way,
};
use crate::{
    body::{Mark, Trend},
    catalogue::{Group, Limb, Place, Section, sweep_places},
    clock::At,
    ids::{EntryId, StaffId, SweepId},
};

/// What every row looks into.
pub(super) struct Seen<'a> {
    pub state: &'a ExamState,
    pub last: &'a HashMap<Place, Last>,
    pub way: &'a Way,
    pub zone: &'a jiff::tz::TimeZone,
    /// Initials of everybody who may have seen or typed something.
    pub initials: &'a HashMap<StaffId, String>,
    /// Several people wrote into this visit: each word shows whose it is.
    pub several: bool,
    /// What was ordered from which place: `fetlock@FETL_D.L`.
    pub ordered: &'a [String],
}

/// A run of rows with its count and its sweeps.
pub(super) struct PartView {
    pub part: Part,
    pub count: Count,
    pub unfolded: bool,
    pub rows: Vec<RowView>,
    pub sweeps: Vec<SweepOffer>,
    pub swept: Vec<Swept>,
    /// After a gesture: the regions that it could not cover and nobody spoke of.
    pub left: Vec<&'static str>,
}

/// What one gesture for both limbs would cover: one sweep each.
pub(super) struct Both<'a> {
    pub name: &'static str,
    pub sweeps: &'a [SweepOffer],
    pub places: usize,
}

pub(super) struct RowView {
    pub id: String,
    pub name: &'static str,
    /// No gesture covers it.
    pub alone: bool,
    pub left: Option<CellView>,
    pub middle: Option<CellView>,
    pub right: Option<CellView>,
    /// How the two sides differ, in words.
    pub differs: &'static str,
    pub picker: Option<Picker>,
}

pub(super) struct CellView {
    pub key: String,
    /// The whole name, for those who hear the page.
    pub name: String,
    pub mark: Mark,
    pub recorded: bool,
    pub said: Vec<Said>,
    /// The entry that says that nothing was found, or why nothing could be, where the mark alone tells it.
    pub silent: Option<EntryId>,
    pub by: String,
    pub last: Option<LastView>,
    pub open: String,
    pub is_open: bool,
}

/// One thing that was said at a place, with what a second form has to know of it.
pub(super) struct Said {
    pub words: String,
    pub entry: Option<EntryId>,
    pub more: String,
}

/// What stood here last time, and when.
pub(super) struct LastView {
    pub words: String,
    pub on: String,
    pub unresolved: bool,
}

/// One gesture that may be made: how many places it would cover, and which.
pub(super) struct SweepOffer {
    pub name: String,
    /// The section's key, or the key of the place it starts from.
    pub from: String,
    pub places: Vec<Place>,
    /// Some of its places are recorded already, so it covers the rest.
    pub rest: bool,
}

/// One gesture that was made, and what of it still stands; for a pair it is two sweeps.
pub(super) struct Swept {
    pub ids: Vec<SweepId>,
    pub name: String,
    pub at: String,
    pub by: String,
    pub places: Vec<Place>,
}

impl PartView {
    pub(super) fn new(part: Part, rows: &[Row], seen: &Seen, mut picker: Option<(Place, Picker)>) -> Self {
        let count = seen.state.count(rows.iter().flat_map(Row::places));
        let sweeps =
            part.sweeps().iter().filter_map(|section| SweepOffer::of(*section, seen.state)).collect();
        let swept = swept(part, seen);
        let left = if swept.is_empty() { Vec::new() } else { left(rows, seen.state) };
        let rows = rows.iter().map(|row| RowView::new(row, seen, &mut picker)).collect();
        PartView { part, count, unfolded: false, rows, sweeps, swept, left }
    }

    /// The regions that a tap in this part may change.
    pub(super) fn swaps(&self) -> String {
        swaps(self.part.id())
    }

    pub(super) fn progress(&self) -> Progress {
        let swept = !self.part.sweeps().is_empty() && self.sweeps.is_empty();
        Progress {
            stage: match Stage::of(self.count.recorded > 0, self.count.is_done()) {
                Stage::Begun | Stage::Untouched if swept => Stage::Done,
                stage => stage,
            },
            abnormal: self.count.abnormal > 0,
            words: self.count.words(),
        }
    }

    /// Offered while both limbs of the pair have something left to cover.
    pub(super) fn both(&self) -> Option<Both<'_>> {
        let [left, right] = self.sweeps.as_slice() else { return None };
        let places = left.places.len() + right.places.len();
        Some(Both { name: self.part.both()?, sweeps: &self.sweeps, places })
    }
}

/// The regions that a tap in a part of this id may change.
pub(super) fn swaps(id: &str) -> String {
    format!("#{id}-rows, #{id}-count, #{id}-sweeps, #{id}-swept, #plan, {AROUND}")
}

impl RowView {
    fn new(row: &Row, seen: &Seen, picker: &mut Option<(Place, Picker)>) -> Self {
        let here = picker.take_if(|(place, _)| row.places().any(|p| p == *place));
        let open = here.as_ref().map(|(place, _)| *place);
        let cell = |place: Option<Place>| place.map(|place| CellView::new(place, seen, open == Some(place)));
        let differs = match (row.left, row.right) {
            (Some(left), Some(right)) => difference(seen.state.at(left), seen.state.at(right)),
            _ => "",
        };
        RowView {
            id: row.id.clone(),
            name: &row.region.name,
            alone: !row.region.sweep,
            left: cell(row.left),
            middle: cell(row.middle),
            right: cell(row.right),
            differs,
            picker: here.map(|(_, picker)| picker),
        }
    }

    pub(super) fn cells(&self) -> impl Iterator<Item = (&'static str, &CellView)> {
        [("left", &self.left), ("middle", &self.middle), ("right", &self.right)]
            .into_iter()
            .filter_map(|(class, cell)| Some((class, cell.as_ref()?)))
    }

    pub(super) fn has_last(&self) -> bool {
        self.cells().any(|(_, cell)| cell.last.is_some())
    }
}

impl CellView {
    fn new(place: Place, seen: &Seen, is_open: bool) -> Self {
        let known = seen.state.at(place);
        let last = seen.last.get(&place);
        CellView {
            key: place.key(),
            name: place.to_string(),
            mark: mark(known, last),
            recorded: known.is_recorded(),
            said: said(known),
            silent: known.clear.first().filter(|_| !known.is_abnormal()).map(|line| line.entry),
            by: if seen.several { authors(known, seen.initials) } else { String::new() },
            last: last.map(|last| LastView::new(last, seen.zone)),
            open: seen.way.open(place),
            is_open,
        }
    }
}

impl CellView {
    /// The two marks that most cells carry are drawn by the style sheet; the rest are pictures.
    pub(super) fn plain(&self) -> &'static str {
        match self.mark {
            Mark::NOT_EXAMINED => "dots",
            Mark::NOTHING_FOUND => "ring",
            _ => "",
        }
    }
}

impl LastView {
    pub(super) fn new(last: &Last, zone: &jiff::tz::TimeZone) -> Self {
        LastView { words: last.words.join(", "), on: last.at.day(zone).words(), unresolved: last.unresolved }
    }
}

impl SweepOffer {
    /// The sweep from one place on, over those of `places` that are open.
    pub(super) fn from(start: Place, places: Vec<Place>) -> Self {
        SweepOffer { name: start.to_string(), from: start.key(), places, rest: false }
    }

    /// The sweep of a whole section; none when there is nothing left to cover.
    fn of(section: Section, state: &ExamState) -> Option<Self> {
        let all = sweep_places(section);
        let places = open_of(&all, state);
        let rest = places.len() < all.len();
        let name = match section {
            Section::Axial => "Neck, back and pelvis".to_owned(),
            Section::Limb(limb) => limb.code().to_owned(),
            Section::Foot(limb) => format!("{} foot", limb.code()),
        };
        (!places.is_empty()).then(|| SweepOffer { name, from: section.to_string(), places, rest })
    }

    pub(super) fn names(&self) -> String {
        names(&self.places)
    }

    pub(super) fn keys(&self) -> String {
        keys(&self.places)
    }
}

impl Both<'_> {
    pub(super) fn keys(&self) -> String {
        self.sweeps.iter().map(SweepOffer::keys).collect::<Vec<_>>().join(" ")
    }
}

fn keys(places: &[Place]) -> String {
    places.iter().map(|place| place.key()).collect::<Vec<_>>().join(" ")
}

impl Swept {
    /// Its places, each limb by itself.
    pub(super) fn by_limb(&self) -> Vec<(&'static str, String)> {
        let mut limbs: Vec<Option<Limb>> = self.places.iter().map(|place| place.limb()).collect();
        limbs.dedup();
        let of = |limb: &Option<Limb>| {
            self.places.iter().copied().filter(|p| p.limb() == *limb).collect::<Vec<_>>()
        };
        limbs.iter().map(|limb| (limb.map_or("", Limb::name), names(&of(limb)))).collect()
    }
}

/// The regions of places in words; their limb is told by what stands around them.
pub(super) fn names(places: &[Place]) -> String {
    let name = |place: &Place| match (place.limb(), place.region().sides) {
        (None, crate::catalogue::Sides::M) | (Some(_), _) => place.region().name.clone(),
        (None, _) => format!("{} ({})", place.region().name, place.side().name()),
    };
    places.iter().map(name).collect::<Vec<_>>().join(" · ")
}

/// Those of `places` that nobody spoke of.
pub(super) fn open_of(places: &[Place], state: &ExamState) -> Vec<Place> {
    places.iter().copied().filter(|place| !state.at(*place).is_recorded()).collect()
}

/// The mark of a place, with its notch and its tail against last time.
pub(super) fn mark(known: &Known, last: Option<&Last>) -> Mark {
    let unresolved = last.is_some_and(|last| last.unresolved);
    let mark = known.mark();
    if !known.is_recorded() {
        return if unresolved { mark.look_again() } else { mark };
    }
    let Status::Abnormal { grade: Some(now) } = known.status() else { return mark };
    let trend = last.and_then(|last| last.grade).and_then(|then| match now.total_cmp(&then) {
        std::cmp::Ordering::Greater => Some(Trend::Worse),
        std::cmp::Ordering::Less => Some(Trend::Better),
        std::cmp::Ordering::Equal => None,
    });
    mark.trend(trend)
}

/// What stands in the cell: the findings, then what was noted; "nothing found" is told by the ring alone.
fn said(known: &Known) -> Vec<Said> {
    let words = |line: &super::state::Line| Said {
        words: say::entry(&line.body),
        entry: Some(line.entry),
        more: super::picker::more(line),
    };
    let mut said: Vec<Said> = known.signs.iter().map(words).collect();
    said.extend(known.negatives.iter().map(words));
    if !known.is_abnormal() && known.clear.is_empty() {
        said.extend(known.barred.iter().map(words));
    } else if known.is_abnormal() && !known.clear.is_empty() {
        said.push(Said { words: "also: nothing found".to_owned(), entry: None, more: String::new() });
    }
    said
}

fn authors(known: &Known, initials: &HashMap<StaffId, String>) -> String {
    let mut all: Vec<&str> = Vec::new();
    for line in known.lines() {
        let name = initials.get(&line.seen_by).map_or("?", String::as_str);
        if !all.contains(&name) {
            all.push(name);
        }
    }
    all.join(", ")
}

/// Only two sides that were both examined can differ.
fn difference(left: &Known, right: &Known) -> &'static str {
    use Status::{Abnormal, NothingFound};
    match (left.status(), right.status()) {
        (Abnormal { .. }, NothingFound) => "\u{25c0} left only",
        (NothingFound, Abnormal { .. }) => "right only \u{25b6}",
        (Abnormal { grade: a }, Abnormal { grade: b }) if a > b => "\u{25c0} left more",
        (Abnormal { grade: a }, Abnormal { grade: b }) if a < b => "right more \u{25b6}",
        (Abnormal { .. }, Abnormal { .. }) if codes(left) != codes(right) => "\u{25c6} sides differ",
        _ => "",
    }
}

fn codes(known: &Known) -> Vec<&str> {
    let there = known.signs.iter().filter(|line| line.body.present == Some(true));
    let mut codes: Vec<&str> = there.filter_map(|line| line.body.code.as_deref()).collect();
    codes.sort_unstable();
    codes
}

fn left(rows: &[Row], state: &ExamState) -> Vec<&'static str> {
    let open = |row: &&Row| row.places().any(|place| !state.at(place).is_recorded());
    rows.iter().filter(|row| !row.region.sweep).filter(open).map(|row| row.region.name.as_str()).collect()
}

/// The sweeps of this part, those of one gesture together.
fn swept(part: Part, seen: &Seen) -> Vec<Swept> {
    let here = seen.state.sweeps.iter().filter(|sweep| sweep.places.iter().any(|p| Part::of(*p) == part));
    let mut all: Vec<((At, StaffId), Swept)> = Vec::new();
    for sweep in here {
        let name = sweep.places.first().map_or_else(String::new, |place| match place.limb() {
            Some(limb) if place.region().group == Group::Foot => format!("{} foot", limb.name()),
            Some(limb) => limb.name().to_owned(),
            None => "neck, back and pelvis".to_owned(),
        });
        let gesture = (sweep.at, sweep.by);
        if let Some((_, same)) = all.iter_mut().find(|(other, _)| *other == gesture) {
            same.ids.push(sweep.id);
            same.name = format!("{} and {name}", same.name);
            same.places.extend(&sweep.places);
            continue;
        }
        let at = At::hm(sweep.at, seen.zone);
        let by = seen.initials.get(&sweep.by).cloned().unwrap_or_default();
        all.push((gesture, Swept { ids: vec![sweep.id], name, at, by, places: sweep.places.clone() }));
    }
    all.into_iter().map(|(_, swept)| swept).collect()
}
