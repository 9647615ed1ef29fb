//! Chance that falls the same way every time, so that two demonstrations filled on one day tell the same story.

/// A splitmix64 generator: tiny, and good enough for choosing horses.
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Self {
        Dice(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// From `low` to `high`, both included.
    pub(super) fn between(&mut self, low: i64, high: i64) -> i64 {
        let width = u64::try_from(high.saturating_sub(low)).unwrap_or(0) + 1;
        low + i64::try_from(self.next() % width).unwrap_or(0)
    }

    /// True in `of` out of a hundred throws.
    pub(super) fn percent(&mut self, of: i64) -> bool {
        self.between(1, 100) <= of
    }

    pub(super) fn pick<'a, T>(&mut self, from: &'a [T]) -> Option<&'a T> {
        let last = i64::try_from(from.len()).ok()?.checked_sub(1).filter(|n| *n >= 0)?;
        from.get(usize::try_from(self.between(0, last)).ok()?)
    }
}
