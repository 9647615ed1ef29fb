//! The parts of the history page, as its templates read them.

use super::Chart;
use crate::{
    body::{MarkPicture, Plan},
    clock::Day,
    ids::VisitId,
};

/// So many visits, and places, have room on one sheet of A4.
const ON_PAPER: usize = 8;
const ROWS_ON_PAPER: usize = 30;

/// A visit at the head of its column.
#[derive(Debug, Clone)]
pub(super) struct Column {
    pub id: VisitId,
    pub day: Day,
    pub today: bool,
    /// The first column, and the first of a year.
    pub year: Option<String>,
}

/// The rows of one part of the horse.
pub(super) struct Part {
    pub name: &'static str,
    pub rows: Vec<Row>,
}

/// A place with a history.
pub(super) struct Row {
    pub key: String,
    /// "fetlock, dorsal": the part is said above it.
    pub name: String,
    pub words: String,
    pub cells: Vec<Shown>,
    /// What was found on which day, for who wants the words.
    pub told: Vec<(String, String)>,
    pub open: bool,
    /// What the row's end says where nothing is open.
    pub end: &'static str,
    /// What is open in words, for paper.
    pub was: String,
    /// The way to this place in today's exam.
    pub look: Option<String>,
}

pub(super) struct Shown {
    pub mark: MarkPicture,
    pub words: String,
}

/// Something to look at again: where, what it was and when, and the way into today's exam.
#[derive(Debug)]
pub(super) struct Again {
    pub place: String,
    pub was: Vec<(String, String)>,
    pub href: Option<String>,
}

/// The newest of its kind.
#[derive(Debug)]
pub(super) struct Latest {
    pub title: &'static str,
    pub day: String,
    pub report: String,
    pub lines: Vec<String>,
}

/// A limb's grades beside the chart, for who cannot see it.
#[derive(Debug)]
pub(super) struct Graded {
    pub day: String,
    pub grades: Vec<String>,
}

/// Lameness over time under one condition.
#[derive(Debug)]
pub(super) struct Lameness {
    pub condition: String,
    pub conditions: Vec<(String, String)>,
    pub charts: Vec<(Chart, Vec<Graded>)>,
    pub from: String,
    pub to: String,
}

pub(super) struct View {
    pub columns: Vec<Column>,
    pub hidden: usize,
    pub parts: Vec<Part>,
    /// Places that are resolved and were not abnormal in any visit that is shown.
    pub older: Vec<Row>,
    pub again: Vec<Again>,
    pub tests: Vec<Again>,
    pub plan: Plan,
    pub lameness: Option<Lameness>,
    pub latest: Vec<Latest>,
    pub today: Option<VisitId>,
    /// Visits with a late entry that waits to be adopted, and their day.
    pub waiting: Vec<(VisitId, String)>,
}

/// What was asked for on the page.
#[derive(Debug, Default, Clone)]
pub(super) struct Asked {
    pub all: bool,
    pub condition: String,
}

impl View {
    /// More rows than fit on a sheet with everything else: paper leaves out what is resolved.
    pub(super) fn is_crowded(&self) -> bool {
        self.parts.iter().map(|part| part.rows.len()).sum::<usize>() > ROWS_ON_PAPER
    }

    /// Whether a column is too old for the width of paper.
    pub(super) fn is_old(&self, column: usize) -> bool {
        column + ON_PAPER < self.columns.len()
    }
}
