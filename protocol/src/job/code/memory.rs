//! What writer and reader remember of the moves so far.

use crate::moves::{Angle, Feed};
use crate::units::{Length, Speed};

use super::fields::label;

/// Where an axis stands and how far it went last, in steps of the grid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct AxisMemory {
    pub(super) at: i32,
    pub(super) step: i32,
}

impl AxisMemory {
    /// Goes to a place; going nowhere leaves the last step as it was.
    pub(super) fn go(&mut self, to: i32) {
        // Both lie within ±100 000 000: the difference fits.
        let step = to.wrapping_sub(self.at);
        if step != 0 {
            self.step = step;
        }
        self.at = to;
    }
}

/// The last two speeds at one angle with one label, the latest first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct SpeedMemory {
    pub(super) last: Speed,
    pub(super) other: Speed,
}

/// What the moves so far foretell of the next one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Memory {
    /// Micrometres in a step.
    pub(super) grid: i32,
    /// The last swing; flat before the first.
    pub(super) angle: Angle,
    /// Ends along the rails, all different once four were gone to; the carriage stands at the first.
    pub(super) ends: [i32; 4],
    pub(super) across: AxisMemory,
    pub(super) height: AxisMemory,
    speeds: [[SpeedMemory; 3]; 2],
}

impl Memory {
    /// Before the first move: every axis at its origin, the blade taken for flat, every speed zero.
    ///
    /// None where the grid is not between 1 µm and [`crate::job::GRID_MAX`].
    #[must_use]
    pub fn new(grid: Length) -> Option<Self> {
        if grid < Length::um(1) || grid > crate::job::GRID_MAX {
            return None;
        }
        Some(Self {
            grid: i32::from(grid),
            angle: Angle::Flat,
            ends: [0; 4],
            across: AxisMemory::default(),
            height: AxisMemory::default(),
            speeds: [[SpeedMemory::default(); 3]; 2],
        })
    }

    /// The ends gone to before the one where the carriage stands, the latest first.
    pub(super) fn other_ends(&self) -> [i32; 3] {
        let [_, first, second, third] = self.ends;
        [first, second, third]
    }

    /// Where the carriage went before: what a new end is counted from.
    pub(super) fn end_before(&self) -> i32 {
        let [_, before, ..] = self.ends;
        before
    }

    /// Moves the carriage to an end, which becomes the latest; the oldest is forgotten.
    pub(super) fn go_to_end(&mut self, to: i32) {
        let known = self.ends.iter().position(|end| *end == to).unwrap_or(3);
        if let Some(shifted) = self.ends.get_mut(..=known) {
            shifted.rotate_right(1);
        }
        let [standing, ..] = &mut self.ends;
        *standing = to;
    }

    /// The speeds at the present angle with a label.
    pub(super) const fn speeds(&self, feed: Option<Feed>) -> SpeedMemory {
        let [flat, upright] = self.speeds;
        let [none, climb, forward] = match self.angle {
            Angle::Flat => flat,
            Angle::Upright => upright,
        };
        match feed {
            None => none,
            Some(Feed::Climb) => climb,
            Some(Feed::Forward) => forward,
        }
    }

    /// Remembers a speed used at the present angle with a label.
    pub(super) fn use_speed(&mut self, feed: Option<Feed>, speed: Speed) {
        let [flat, upright] = &mut self.speeds;
        let [none, climb, forward] = match self.angle {
            Angle::Flat => flat,
            Angle::Upright => upright,
        };
        let known = match feed {
            None => none,
            Some(Feed::Climb) => climb,
            Some(Feed::Forward) => forward,
        };
        if speed != known.last {
            known.other = known.last;
            known.last = speed;
        }
    }
}

/// The number of a label.
pub(super) const fn label_bits(feed: Option<Feed>) -> u8 {
    match feed {
        None => label::NONE,
        Some(Feed::Climb) => label::CLIMB,
        Some(Feed::Forward) => label::FORWARD,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn four_ends_are_kept_latest_first() {
        let mut memory = Memory::new(Length::um(100)).unwrap();
        for end in [10, 20, 30, 40] {
            memory.go_to_end(end);
        }
        assert_eq!(memory.ends, [40, 30, 20, 10]);
        memory.go_to_end(20);
        assert_eq!(memory.ends, [20, 40, 30, 10]);
        memory.go_to_end(20);
        assert_eq!(memory.ends, [20, 40, 30, 10]);
        memory.go_to_end(50);
        assert_eq!(memory.ends, [50, 20, 40, 30]);
    }

    #[test]
    fn a_grid_must_be_fine_and_positive() {
        for bad in [0, -100, 25_401, i64::from(i32::MAX)] {
            assert_eq!(Memory::new(Length::um(bad)), None);
        }
        assert!(Memory::new(Length::um(1)).is_some());
        assert!(Memory::new(Length::um(25_400)).is_some());
    }
}
