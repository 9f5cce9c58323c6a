//! What a sequence has done so far, for the rule that can only be judged at its end.

use bunkside_protocol::{Angle, Feed, Move, Position, Stroke};

use super::Situation;
use crate::stock::Edge;

/// What a sequence has done so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct History {
    lowest: Option<Position>,
    shallow: bool,
    last: Option<LastFreed>,
}

/// The stroke that freed the last group at the lowest level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastFreed {
    /// Number of the move.
    pub index: u16,
    /// How the blade stood.
    pub angle: Angle,
    /// Which way it ran.
    pub stroke: Option<Stroke>,
    /// Its feed.
    pub feed: Option<Feed>,
    /// Whether a shallow flat pass in forward feed went before it and freed nothing.
    pub shallow_before: bool,
    /// Whether every freed piece had been edged on its entry side.
    pub edged: bool,
    /// Whether the pull-back aid bore.
    pub aid: bool,
}

impl History {
    /// Starts a history. The lowest height at which any move of the sequence cuts is told beforehand.
    #[must_use]
    pub const fn new(lowest: Option<Position>) -> Self {
        Self {
            lowest,
            shallow: false,
            last: None,
        }
    }

    /// The lowest height at which a sequence cuts, none if it never does.
    pub fn lowest_cut<'m>(moves: impl IntoIterator<Item = &'m Move>) -> Option<Position> {
        let mut height = None;
        let mut lowest: Option<Position> = None;
        for told in moves {
            match told {
                Move::Go(targets) => height = targets.height.or(height),
                Move::Cut(cut) => {
                    height = cut.to.height.or(height);
                    lowest = match (lowest, height) {
                        (Some(a), Some(b)) => Some(a.min(b)),
                        (a, b) => a.or(b),
                    };
                }
                Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => {}
            }
        }
        lowest
    }

    /// The lowest height at which the sequence cuts.
    #[must_use]
    pub const fn lowest(&self) -> Option<Position> {
        self.lowest
    }

    /// The stroke that freed the last group at the lowest level so far.
    #[must_use]
    pub const fn last_freed(&self) -> Option<&LastFreed> {
        self.last.as_ref()
    }

    /// Takes note of a move that has been judged.
    pub fn note(&mut self, situation: &Situation<'_>) {
        let Some((step, facts)) = situation.cut() else {
            return;
        };
        if Some(step.before.height) != self.lowest || facts.met.is_none() {
            return;
        }
        let flat = step.before.angle == Angle::Flat;
        if facts.freed == 0 {
            self.shallow |= flat && step.feed == Some(Feed::Forward);
        } else {
            self.last = Some(LastFreed {
                index: step.index,
                angle: step.before.angle,
                stroke: step.stroke,
                feed: step.feed,
                shallow_before: self.shallow,
                // Wood under the kerf that no bunk carries comes off too; it is not what was edged.
                edged: situation
                    .freed()
                    .iter()
                    .filter(|piece| piece.bounds.height.lo >= step.before.height)
                    .all(|piece| piece.entry != Edge::Natural),
                aid: step.before.aid,
            });
            self.shallow = false;
        }
    }
}
