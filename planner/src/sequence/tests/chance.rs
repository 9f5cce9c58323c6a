//! Numbers by chance, the same for the same seed.

/// A small generator of the xorshift family; the seed tells the case.
pub(super) struct Chance(u64);

impl Chance {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11
    }

    pub(super) fn within(&mut self, low: i64, high: i64) -> i64 {
        let span = u64::try_from(high - low + 1).unwrap();
        low + i64::try_from(self.next() % span).unwrap()
    }

    pub(super) fn one_in(&mut self, count: i64) -> bool {
        self.within(1, count) == 1
    }
}
