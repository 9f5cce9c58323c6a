//! A stretch of one axis.

use bunkside_protocol::{Length, Position};

/// A stretch of one axis from `lo` to `hi`; empty where `lo` is not below `hi`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Interval {
    /// Where it starts.
    pub lo: Position,
    /// Where it ends.
    pub hi: Position,
}

impl Interval {
    /// The whole axis.
    pub const ALL: Self = Self {
        lo: Position::MIN,
        hi: Position::MAX,
    };

    /// From `lo` to `hi`.
    #[must_use]
    pub const fn new(lo: Position, hi: Position) -> Self {
        Self { lo, hi }
    }

    /// Between two places, in whichever order they are given.
    #[must_use]
    pub fn between(a: Position, b: Position) -> Self {
        Self {
            lo: a.min(b),
            hi: a.max(b),
        }
    }

    /// How long it is; negative where it is empty by more than a point.
    #[must_use]
    pub fn length(self) -> Length {
        self.hi - self.lo
    }

    /// Whether it holds no stretch at all.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.lo >= self.hi
    }

    /// What two stretches share; possibly empty.
    #[must_use]
    pub fn meet(self, other: Self) -> Self {
        Self {
            lo: self.lo.max(other.lo),
            hi: self.hi.min(other.hi),
        }
    }

    /// The shortest stretch that holds both.
    #[must_use]
    pub fn join(self, other: Self) -> Self {
        Self {
            lo: self.lo.min(other.lo),
            hi: self.hi.max(other.hi),
        }
    }

    /// Whether two stretches share more than a point.
    #[must_use]
    pub fn overlaps(self, other: Self) -> bool {
        !self.meet(other).is_empty()
    }

    /// Whether the place lies in it, ends included.
    #[must_use]
    pub fn contains(self, place: Position) -> bool {
        self.lo <= place && place <= self.hi
    }

    /// Wider by a length at both ends.
    #[must_use]
    pub fn grown(self, by: Length) -> Self {
        Self {
            lo: self.lo - by,
            hi: self.hi + by,
        }
    }

    /// The whole stretch, further along by a length.
    #[must_use]
    pub fn shifted(self, by: Length) -> Self {
        Self {
            lo: self.lo + by,
            hi: self.hi + by,
        }
    }
}
