//! The record of one horse, folded into rows of places by columns of visits, and into what is still open.
//!
//! Pure: rows go in, the grid comes out. A finding is open until its place is examined later and nothing is found
//! there, or until that very finding is looked for later and not there.

use std::collections::{HashMap, HashSet};

use super::Site;
use crate::{
    body::{Mark, State, Trend},
    ids::{EntryId, VisitId},
};

/// What is needed to tell which entries stand.
#[derive(Debug, Default)]
pub struct Standing {
    gone: HashSet<EntryId>,
    adopted: HashSet<EntryId>,
}

/// An entry that corrects or takes back another.
#[derive(Debug, Clone, Copy)]
pub struct Correction {
    pub by: EntryId,
    pub of: EntryId,
    pub late: bool,
}

impl Standing {
    pub fn new(corrections: &[Correction], adopted: HashSet<EntryId>) -> Self {
        let counts = |c: &&Correction| !c.late || adopted.contains(&c.by);
        let gone = corrections.iter().filter(counts).map(|c| c.of).collect();
        Standing { gone, adopted }
    }

    /// Neither corrected nor taken back; a late entry stands once it was adopted.
    pub fn stands(&self, id: EntryId, late: bool) -> bool {
        !self.gone.contains(&id) && (!late || self.adopted.contains(&id))
    }
}

/// What one entry says of a place.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    NothingFound,
    /// It could not be examined, and why.
    NotExamined(String),
    /// One finding was looked for and is not there.
    Absent(String),
    Found(Found),
}

/// A finding that was there.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    pub code: String,
    pub grade: Option<f64>,
    /// "effusion, moderate (2 of 4), medial"
    pub words: String,
}

/// An entry about a place, as the store reads it.
#[derive(Debug, Clone)]
pub struct Fact {
    pub id: EntryId,
    pub visit: VisitId,
    pub late: bool,
    pub site: Site,
    pub said: Said,
}

/// A place on one visit.
#[derive(Debug, Clone, Default)]
pub struct Cell {
    pub state: State,
    /// Against the last time it was examined.
    pub trend: Option<Trend>,
    pub found: Vec<Found>,
    absent: Vec<String>,
    all_clear: bool,
    /// Why it could not be examined.
    pub hindered: String,
}

/// A place with a history: a cell for each visit, in the order of the visits.
#[derive(Debug, Clone)]
pub struct Line {
    pub site: Site,
    pub cells: Vec<Cell>,
    /// What is not resolved.
    pub open: Vec<Open>,
}

/// A finding that nobody has seen gone, and the visit (by its position) that saw it last.
#[derive(Debug, Clone, PartialEq)]
pub struct Open {
    pub visit: usize,
    pub found: Found,
}

/// Folds the facts over `visits`, the oldest first. Places without any finding that stands have no line.
pub fn fold(visits: &[VisitId], facts: Vec<Fact>, standing: &Standing) -> Vec<Line> {
    let column: HashMap<VisitId, usize> = visits.iter().enumerate().map(|(n, v)| (*v, n)).collect();
    let mut places: HashMap<Site, Vec<Cell>> = HashMap::new();
    for fact in facts {
        let Some(&n) = column.get(&fact.visit) else { continue };
        if standing.stands(fact.id, fact.late) {
            let cells = places.entry(fact.site).or_insert_with(|| vec![Cell::default(); visits.len()]);
            if let Some(cell) = cells.get_mut(n) {
                cell.take(fact.said);
            }
        }
    }
    let with_finding = places.into_iter().filter(|(_, cells)| cells.iter().any(|c| !c.found.is_empty()));
    let mut lines: Vec<Line> = with_finding.map(line).collect();
    lines.sort_by(|a, b| a.site.cmp(&b.site));
    lines
}

fn line((site, mut cells): (Site, Vec<Cell>)) -> Line {
    let mut before: Option<Cell> = None;
    for cell in &mut cells {
        cell.settle();
        if cell.state != State::NotExamined {
            cell.trend = before.as_ref().and_then(|last| cell.against(last));
            before = Some(cell.clone());
        }
    }
    let mut open = open(&cells);
    open.retain(|o| !site.is_described_by(&o.found.code));
    Line { site, cells, open }
}

/// Walks the visits: what was found stays open until it is seen gone.
fn open(cells: &[Cell]) -> Vec<Open> {
    let mut open: Vec<Open> = Vec::new();
    for (visit, cell) in cells.iter().enumerate() {
        open.retain(|o| {
            let gone = (cell.all_clear && cell.found.is_empty()) || cell.absent.contains(&o.found.code);
            let again = cell.found.iter().any(|f| f.code == o.found.code);
            !gone && !again
        });
        open.extend(cell.found.iter().map(|found| Open { visit, found: found.clone() }));
    }
    open
}

impl Cell {
    fn take(&mut self, said: Said) {
        match said {
            Said::NothingFound => self.all_clear = true,
            Said::NotExamined(why) => self.hindered = why,
            Said::Absent(code) => self.absent.push(code),
            Said::Found(found) => self.found.push(found),
        }
    }

    /// What was found outweighs what was not: two people may both have looked.
    fn settle(&mut self) {
        self.found.sort_by(|a, b| b.grade.unwrap_or(0.0).total_cmp(&a.grade.unwrap_or(0.0)));
        self.absent.retain(|code| self.found.iter().all(|f| f.code != *code));
        self.state = match self.worst() {
            Some(worst) => State::Abnormal { grade: worst.grade },
            None if self.all_clear || !self.absent.is_empty() => State::NothingFound,
            None => State::NotExamined,
        };
    }

    fn worst(&self) -> Option<&Found> {
        self.found.first()
    }

    /// Worse or better than the last time; grades of two different findings are not compared.
    fn against(&self, last: &Cell) -> Option<Trend> {
        match (last.worst(), self.worst()) {
            (None, Some(_)) => Some(Trend::Worse),
            (Some(_), None) => Some(Trend::Better),
            (Some(was), Some(is)) if was.code == is.code => match is.grade?.total_cmp(&was.grade?) {
                std::cmp::Ordering::Greater => Some(Trend::Worse),
                std::cmp::Ordering::Less => Some(Trend::Better),
                std::cmp::Ordering::Equal => None,
            },
            _ => None,
        }
    }

    pub fn mark(&self) -> Mark {
        Mark::from(self.state)
    }

    /// Everything it says, for a title and for readers of the screen.
    pub fn words(&self) -> String {
        match self.state {
            State::Abnormal { .. } => {
                self.found.iter().map(|f| f.words.as_str()).collect::<Vec<_>>().join("; ")
            }
            State::NotExamined if !self.hindered.is_empty() => {
                format!("could not be examined: {}", self.hindered)
            }
            State::NotExamined | State::NothingFound => String::new(),
        }
    }
}

impl Line {
    /// Something stands there as it was last seen, though nobody has to look at it again.
    pub fn is_described(&self) -> bool {
        let (mark, _) = self.newest();
        self.open.is_empty() && mark.is_abnormal()
    }

    /// The newest state that anybody saw, with how it went; asks to look again while something is open.
    pub fn newest(&self) -> (Mark, &[Found]) {
        let seen = self.cells.iter().rev().find(|c| c.state != State::NotExamined);
        let Some(cell) = seen else { return (Mark::NOT_EXAMINED, &[]) };
        let mark = cell.mark().trend(cell.trend);
        (if self.open.is_empty() { mark } else { mark.look_again() }, &cell.found)
    }
}
