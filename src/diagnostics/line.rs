//! An order as one line of a list.

use super::{
    order::{Item, Order, sides},
    ready,
    stage::{Gap, Stage},
};
use crate::{catalogue::catalogue, clock::Day};

#[derive(Debug, Clone)]
pub(super) struct Line {
    pub order: Order,
    pub stage: Stage,
    pub gaps: Vec<Gap>,
    /// Planned for a day that is over, and not done.
    pub overdue: bool,
    /// How much is made ready for what is still to be taken, "3 of 5"; empty where nothing is.
    pub ready: String,
    sides: String,
}

impl Line {
    pub(super) fn new(order: Order, items: &[Item], today: Day) -> Self {
        let stage = Stage::of(&order, items);
        let gaps = Gap::of(&order, items);
        let waits = waits(&gaps);
        let overdue = waits && order.planned_on.is_some_and(|day| day < today);
        Line { stage, gaps, overdue, ready: String::new(), sides: sides(items), order }
    }

    /// With what is ticked of the list to make ready.
    pub(super) fn with_ready(mut self, ticked: &[String]) -> Self {
        let study = catalogue().diagnostics.study(&self.order.study).filter(|_| waits(&self.gaps));
        self.ready = study.and_then(|study| ready::count_words(study, ticked)).unwrap_or_default();
        self
    }

    /// "left fore fetlock"
    pub(super) fn name(&self) -> String {
        let name = &self.order.name;
        if self.sides.is_empty() { name.clone() } else { format!("{name}, {}", self.sides) }
    }

    /// What is open about it, in words.
    pub(super) fn open(&self) -> String {
        let words = self.gaps.iter().map(|gap| gap.words(self.order.kind.done()));
        words.collect::<Vec<_>>().join(", ")
    }
}

/// Whether something is still to be taken.
fn waits(gaps: &[Gap]) -> bool {
    gaps.iter().any(|gap| matches!(gap, Gap::NotAcquired(_) | Gap::Repeat(_)))
}
