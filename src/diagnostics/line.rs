//! An order as one line of a list.

use super::{
    order::{Item, Order, sides},
    stage::{Gap, Stage},
};
use crate::clock::Day;

#[derive(Debug, Clone)]
pub(super) struct Line {
    pub order: Order,
    pub stage: Stage,
    pub gaps: Vec<Gap>,
    /// Planned for a day that is over, and not done.
    pub overdue: bool,
    sides: String,
}

impl Line {
    pub(super) fn new(order: Order, items: &[Item], today: Day) -> Self {
        let stage = Stage::of(&order, items);
        let gaps = Gap::of(&order, items);
        let waits = gaps.iter().any(|gap| matches!(gap, Gap::NotAcquired(_) | Gap::Repeat(_)));
        let overdue = waits && order.planned_on.is_some_and(|day| day < today);
        Line { stage, gaps, overdue, sides: sides(items), order }
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
