//! The best boards side by side where every board has room.

use super::row::{Full, Way};
use super::{Item, Um};

/// The best boards in so much room.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sum {
    /// How far on the next corner lies.
    room: Um,
    worth: i64,
    /// The last board, by number.
    last: u16,
}

/// For a row: what the best boards in so much room are worth, by rising room.
#[derive(Clone, Copy, Debug)]
pub(super) struct Knap<'w> {
    sums: &'w [Sum],
}

impl<'w> Knap<'w> {
    pub(super) const fn new(sums: &'w [Sum]) -> Self {
        Self { sums }
    }

    /// Keeps ways as sums.
    pub(super) fn keep<'a>(ways: impl Iterator<Item = &'a Way>, out: &mut [Sum]) -> Result<usize, Full> {
        let mut made = 0;
        for way in ways {
            *out.get_mut(made).ok_or(Full)? = Sum {
                room: way.corner,
                worth: way.worth,
                last: way.item,
            };
            made += 1;
        }
        Ok(made)
    }

    fn at(&self, room: Um) -> Option<&Sum> {
        let after = self.sums.partition_point(|sum| sum.room <= room);
        after.checked_sub(1).and_then(|at| self.sums.get(at))
    }

    /// What is worth most in a room.
    pub(super) fn worth(&self, room: Um) -> i64 {
        self.at(room).map_or(0, |sum| sum.worth)
    }

    /// Its boards, last first.
    pub(super) fn boards(&self, room: Um, items: &[Item], each: &mut dyn FnMut(u16)) {
        let mut left = room;
        while let Some(sum) = self.at(left).filter(|sum| sum.worth > 0) {
            each(sum.last);
            left = sum.room
                - items
                    .get(usize::from(sum.last))
                    .map_or(Um::MAX / 4, |item| item.advance);
        }
    }
}
