//! Whose time is taken: a vet is in one place at a time, also in a past that was made up.

use std::collections::HashMap;

use super::dice::Dice;
use crate::clock::Day;

pub(super) const OPENS: i64 = 8 * 60;
pub(super) const CLOSES: i64 = 17 * 60 + 30;

pub(super) struct Calendar {
    vets: usize,
    today: Day,
    /// The first free minute of a vet's day.
    free: HashMap<(usize, Day), i64>,
}

/// A vet's time on a day, in minutes past midnight.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    pub vet: usize,
    pub day: Day,
    pub minute: i64,
}

impl Calendar {
    pub(super) fn new(vets: usize, today: Day) -> Self {
        Calendar { vets, today, free: HashMap::new() }
    }

    /// Time for a visit on the wished day or the nearest working day away from today, with the wished vet if they
    /// are free.
    pub(super) fn book(&mut self, wish: Slot, minutes: i64, dice: &mut Dice) -> Option<Slot> {
        let step = if wish.day < self.today { -1 } else { 1 };
        (0..30).map(|n| wish.day.plus_days(n * step)).find_map(|day| self.on(day, wish.vet, minutes, dice))
    }

    fn on(&mut self, day: Day, wished: usize, minutes: i64, dice: &mut Dice) -> Option<Slot> {
        if day == self.today || day.0.weekday() == jiff::civil::Weekday::Sunday {
            return None;
        }
        (0..self.vets).map(|n| (wished + n) % self.vets).find_map(|vet| {
            let free = self.free.entry((vet, day)).or_insert(OPENS);
            let minute = *free + 5 * dice.between(0, 9);
            (minute + minutes <= CLOSES).then(|| {
                *free = minute + minutes;
                Slot { vet, day, minute }
            })
        })
    }

    /// Takes a vet's time whatever the weekday.
    pub(super) fn take(&mut self, vet: usize, day: Day, minutes: i64) -> Slot {
        let free = self.free.entry((vet, day)).or_insert(OPENS);
        let minute = *free;
        *free += minutes;
        Slot { vet, day, minute }
    }
}
