//! One box of the stock.

use bunkside_protocol::Position;

use crate::geometry::{Block, Interval};

/// To what a cell's wood belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Owner {
    /// To what rests on the bunks.
    Body,
    /// To the free piece with this number.
    Piece(u8),
}

/// A box across and along inside one band of height; its wood is what the log's sections hold of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Number of its band, from below.
    pub band: u8,
    /// To what its wood belongs.
    pub owner: Owner,
    /// Whether it has been looked at as it is: it holds wood, without a gap along the rails.
    pub(super) settled: bool,
    /// Across the bed.
    pub across: Interval,
    /// Along the rails.
    pub travel: Interval,
}

impl Cell {
    /// Its box, in a band of this height.
    pub(crate) const fn block(&self, height: Interval) -> Block {
        Block {
            travel: self.travel,
            across: self.across,
            height,
        }
    }

    /// Whether it stands at a place along the rails: where two meet, the further one does.
    pub(super) fn is_along(&self, travel: Position) -> bool {
        self.travel.lo <= travel && travel < self.travel.hi
    }

    /// Where it sorts among the cells.
    pub(super) fn key(&self) -> (u8, i32, i32) {
        (self.band, self.across.lo.as_um(), self.travel.lo.as_um())
    }
}
