//! A seeded stream of numbers: the same seed gives the same test, on every machine.

/// Xorshift with a multiplied output (Vigna's `xorshift64*`, constants from memory).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 8
    }

    /// From 0 to one below `count`.
    pub(crate) fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    /// From `low` to `high`, both included.
    pub(crate) fn between(&mut self, low: i64, high: i64) -> i64 {
        low + i64::try_from(self.below(high.abs_diff(low) + 1)).unwrap()
    }

    /// From `low` to `high`, both included.
    pub(crate) fn within(&mut self, low: i32, high: i32) -> i32 {
        i32::try_from(self.between(low.into(), high.into())).unwrap()
    }

    /// From `low` to `high` in a million steps.
    pub(crate) fn real(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * f64::from(self.within(0, 1_000_000)) / 1e6
    }

    pub(crate) fn once_in(&mut self, count: u64) -> bool {
        self.below(count) == 0
    }

    pub(crate) fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(from.len() as u64)).unwrap()]
    }
}
