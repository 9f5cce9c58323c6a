//! A box with faces square to the axes.

use bunkside_protocol::{Length, Position, mill::Box3};

use super::Interval;
use crate::machine::Apart;

/// A box: a stretch of each axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Block {
    /// Along the rails.
    pub travel: Interval,
    /// Across the bed.
    pub across: Interval,
    /// Above the bed.
    pub height: Interval,
}

impl Block {
    /// The whole room.
    pub const ALL: Self = Self {
        travel: Interval::ALL,
        across: Interval::ALL,
        height: Interval::ALL,
    };

    /// A box without room.
    pub const NONE: Self = {
        let none = Interval::new(Position::ZERO, Position::ZERO);
        Self {
            travel: none,
            across: none,
            height: none,
        }
    };

    /// A speck where no log lies: a kerf there takes nothing, and what hangs together is looked at all the same.
    #[must_use]
    pub fn out_of_the_way() -> Self {
        let corner = Interval::new(Position::MIN, Position::MIN + Length::um(1));
        Self {
            travel: corner,
            across: corner,
            height: corner,
        }
    }

    /// The box of a profile's record.
    #[must_use]
    pub fn from_record(record: &Box3) -> Self {
        let [t0, a0, h0] = record.min;
        let [t1, a1, h1] = record.max;
        Self {
            travel: Interval::new(t0, t1),
            across: Interval::new(a0, a1),
            height: Interval::new(h0, h1),
        }
    }

    /// Whether it has no room.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.travel.is_empty() || self.across.is_empty() || self.height.is_empty()
    }

    /// The room that two boxes share; empty where they share none.
    #[must_use]
    pub fn meet(self, other: Self) -> Self {
        Self {
            travel: self.travel.meet(other.travel),
            across: self.across.meet(other.across),
            height: self.height.meet(other.height),
        }
    }

    /// Whether two boxes share room.
    #[must_use]
    pub fn overlaps(self, other: Self) -> bool {
        self.travel.overlaps(other.travel)
            && self.across.overlaps(other.across)
            && self.height.overlaps(other.height)
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn join(self, other: Self) -> Self {
        Self {
            travel: self.travel.join(other.travel),
            across: self.across.join(other.across),
            height: self.height.join(other.height),
        }
    }

    /// Larger by a length on every side.
    #[must_use]
    pub fn grown(self, by: Length) -> Self {
        self.apart(Apart {
            travel: by,
            across: by,
            height: by,
        })
    }

    /// Larger along each axis by as much as things are kept apart on it.
    #[must_use]
    pub fn apart(self, by: Apart) -> Self {
        Self {
            travel: self.travel.grown(by.travel),
            across: self.across.grown(by.across),
            height: self.height.grown(by.height),
        }
    }

    /// Larger by a length across and in height, not along the rails.
    #[must_use]
    pub fn grown_in_section(self, by: Length) -> Self {
        Self {
            across: self.across.grown(by),
            height: self.height.grown(by),
            ..self
        }
    }

    /// Larger by as much as things are kept apart across and in height, not along the rails.
    #[must_use]
    pub fn apart_in_section(self, by: Apart) -> Self {
        Self {
            travel: self.travel,
            ..self.apart(by)
        }
    }

    /// The same box moved so that its origin comes to a place.
    #[must_use]
    pub fn placed(self, travel: Position, across: Position, height: Position) -> Self {
        Self {
            travel: self.travel.shifted(travel.from_origin()),
            across: self.across.shifted(across.from_origin()),
            height: self.height.shifted(height.from_origin()),
        }
    }
}
