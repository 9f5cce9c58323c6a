//! A free piece.

use bunkside_protocol::Length;

use crate::geometry::Block;
use crate::limits::{STANDS_ALONE, STANDS_BESIDE};

/// What one side of a piece is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// The log's own surface, along its whole length.
    Natural,
    /// The log's surface for a part of its length, a kerf for the rest.
    Part,
    /// A kerf along its whole length.
    Sawn,
}

/// A piece that hangs together with nothing that rests on the bunks, as it was when it came free. A kerf that meets
/// it later takes wood from it, but neither its box nor its number changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Its number in the stock while it lies there.
    pub id: u8,
    /// How many came off before it, and itself: 1 for the first.
    pub serial: u16,
    /// The box that its wood fills.
    pub bounds: Block,
    /// Its side towards the entry side.
    pub entry: Edge,
    /// Its side towards the exit side.
    pub exit: Edge,
    /// Whether it lacks wood at any corner: wane, or bark.
    pub bark_edge: bool,
}

impl Piece {
    /// How far out beside the log it may come down: its width where it slides off as it lies, its height where it goes over.
    #[must_use]
    pub fn falls_out(&self) -> Length {
        self.bounds.across.length().max(self.bounds.height.length())
    }

    /// How high the piece is and how high it may be, where it stands higher on its foot than that: it topples. What ends with the
    /// log's own surface on one side goes over to that one, away from the blade.
    #[must_use]
    pub fn topples(&self) -> Option<(Length, Length)> {
        self.higher_than(STANDS_ALONE)
    }

    /// How high the piece is and how high it may be with others beside it, where it stands higher on its foot than that and one of
    /// them stands so too, a kerf or more away: they lean against one another, each further than the one before.
    #[must_use]
    pub fn leans_on_any(&self, others: &[Self]) -> Option<(Length, Length)> {
        let found = self.higher_than(STANDS_BESIDE)?;
        let beside = |other: &&Self| {
            let (own, next) = (self.bounds, other.bounds);
            !own.across.overlaps(next.across)
                && own.height.overlaps(next.height)
                && own.travel.overlaps(next.travel)
                && other.higher_than(STANDS_BESIDE).is_some()
        };
        others.iter().find(beside).map(|_| found)
    }

    /// How high a piece is that is sawn on both sides, and so many times the width of its foot, where it is higher than that.
    fn higher_than(&self, times: i32) -> Option<(Length, Length)> {
        let high = self.bounds.height.length();
        let most = self.bounds.across.length().times(times);
        let sawn = self.entry != Edge::Natural && self.exit != Edge::Natural;
        (sawn && high > most).then_some((high, most))
    }
}
