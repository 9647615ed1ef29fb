//! How far an order has come, and what about it is still open: pure.

use super::order::{Item, ItemState, Order};

/// The stages of an order, the earliest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    Requested,
    Scheduled,
    /// Some items are there, others not yet.
    Begun,
    RepeatNeeded,
    Acquired,
    Reported,
    Told,
    Closed,
}

impl Stage {
    pub fn of(order: &Order, items: &[Item]) -> Stage {
        let any = |state: ItemState| items.iter().any(|item| item.state == state);
        match () {
            () if order.closed_at.is_some() => Stage::Closed,
            () if order.told_at.is_some() => Stage::Told,
            () if order.reported => Stage::Reported,
            () if any(ItemState::Repeat) => Stage::RepeatNeeded,
            () if any(ItemState::Taken) && any(ItemState::Wanted) => Stage::Begun,
            () if any(ItemState::Taken) => Stage::Acquired,
            () if order.planned_on.is_some() => Stage::Scheduled,
            () => Stage::Requested,
        }
    }

    pub fn words(self) -> &'static str {
        match self {
            Stage::Requested => "requested",
            Stage::Scheduled => "scheduled",
            Stage::Begun => "partly acquired",
            Stage::RepeatNeeded => "repeat needed",
            Stage::Acquired => "acquired",
            Stage::Reported => "reported",
            Stage::Told => "client told",
            Stage::Closed => "closed",
        }
    }
}

/// What is still open about an order. Each stays until somebody does it, or closes it with a reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gap {
    /// So many items were taken and do not serve.
    Repeat(usize),
    /// So many items are not there.
    NotAcquired(usize),
    /// Something was taken, and nobody has said what it shows.
    NotReported,
    /// So many pictures came after the report: nobody has said what they show.
    CameAfter(usize),
    /// There is a report, and no veterinarian has read it.
    NotRead,
    /// There is a report, and the client does not know.
    NotTold,
    /// The horse was injected for a bone scan and may not leave yet.
    NotReleased,
}

impl Gap {
    /// What is open about it, in the order it is worked off.
    pub fn of(order: &Order, items: &[Item]) -> Vec<Gap> {
        // Closing an order releases no horse.
        let released = order.unreleased.then_some(Gap::NotReleased);
        if order.closed_at.is_some() {
            return released.into_iter().collect();
        }
        let count = |state: ItemState| items.iter().filter(|item| item.state == state).count();
        let (repeat, wanted, taken) =
            (count(ItemState::Repeat), count(ItemState::Wanted), count(ItemState::Taken));
        let mut gaps = Vec::new();
        if repeat > 0 {
            gaps.push(Gap::Repeat(repeat));
        }
        if wanted > 0 {
            gaps.push(Gap::NotAcquired(wanted));
        }
        if order.reported {
            if let Some(count) = usize::try_from(order.unseen).ok().filter(|count| *count > 0) {
                gaps.push(Gap::CameAfter(count));
            }
            if order.read_at.is_none() {
                gaps.push(Gap::NotRead);
            }
            if order.told_at.is_none() {
                gaps.push(Gap::NotTold);
            }
        } else if taken > 0 && wanted + repeat == 0 {
            gaps.push(Gap::NotReported);
        } else if taken == 0 && wanted + repeat == 0 {
            // Everything was left out: the client still waits for an answer.
            gaps.push(Gap::NotTold);
        }
        gaps.extend(released);
        gaps
    }

    pub fn words(self, done: &str) -> String {
        match self {
            Gap::Repeat(n) => format!("{n} to repeat"),
            Gap::NotAcquired(n) => format!("{n} not {done} yet"),
            Gap::NotReported => "no report yet".into(),
            Gap::CameAfter(1) => "1 picture came after the report".into(),
            Gap::CameAfter(n) => format!("{n} pictures came after the report"),
            Gap::NotRead => "report not read".into(),
            Gap::NotTold => "client not told".into(),
            Gap::NotReleased => "horse not released after the scan".into(),
        }
    }
}
