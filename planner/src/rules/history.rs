//! What a sequence has done so far, for rules that one move alone does not tell enough.

use bunkside_protocol::{Act, Angle, Feed, Move, Position};

use super::Scene;
use super::wedged::Wedged;
use crate::geometry::Block;
use crate::stock::Edge;

/// What a sequence has done so far.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct History {
    lowest: Option<Position>,
    /// Height of a shallow flat pass since the last group near the bed came free.
    shallow: Option<Position>,
    last: Option<LastFreed>,
    /// Whether the log has been laid again, and neither measured nor cut since.
    laid_again: bool,
    wedged: Wedged,
}

/// The stroke that freed the last group near the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastFreed {
    /// Number of the move.
    pub index: u16,
    /// How the blade stood.
    pub angle: Angle,
    /// Its feed.
    pub feed: Option<Feed>,
    /// Whether a shallow flat pass at the same height, in forward feed, went before it and freed nothing.
    pub shallow_before: bool,
    /// Whether every freed piece had been edged on its entry side.
    pub edged: bool,
    /// Whether the pull-back aid bore on every freed piece.
    pub aid: bool,
}

impl History {
    /// Starts a history. The lowest height at which any move of the sequence cuts is told beforehand.
    #[must_use]
    pub const fn new(lowest: Option<Position>) -> Self {
        Self {
            lowest,
            shallow: None,
            last: None,
            laid_again: false,
            wedged: Wedged::NONE,
        }
    }

    /// The lowest height at which a sequence cuts, none if it never does.
    pub fn lowest_cut(moves: impl IntoIterator<Item = Move>) -> Option<Position> {
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

    /// The stroke that freed the last group near the bed so far.
    #[must_use]
    pub const fn last_freed(&self) -> Option<&LastFreed> {
        self.last.as_ref()
    }

    /// Whether the log has been laid again, and neither measured nor cut since.
    #[must_use]
    pub const fn laid_again(&self) -> bool {
        self.laid_again
    }

    /// What wedges fill of the kerfs that hold some, and how the blade stood that cut each.
    pub fn wedged_kerfs(&self) -> impl Iterator<Item = (Angle, Block)> {
        self.wedged.driven()
    }

    /// The kerfs that hold wedges.
    pub(super) const fn wedged(&self) -> &Wedged {
        &self.wedged
    }

    /// Takes note of a move that has been judged.
    pub fn note(&mut self, scene: &Scene<'_>) {
        match scene.step().map(|step| step.told) {
            Some(Move::Cut(_)) => self.laid_again = false,
            Some(Move::Hold(hold)) => {
                let laid_again = self.laid_again || hold.acts.contains(Act::Reseat);
                self.laid_again = laid_again && !hold.acts.contains(Act::Measure);
            }
            _ => {}
        }
        self.wedged.note(scene);
        self.note_freed(scene);
    }

    fn note_freed(&mut self, scene: &Scene<'_>) {
        let Some((step, facts)) = scene.cut() else {
            return;
        };
        let height = step.before.height;
        if facts.met.is_none() || !scene.is_near_bed(height) {
            return;
        }
        // Wood under the kerf that no bunk carries comes off too; it is not what was edged.
        let group = || {
            let freed = scene.freed().iter();
            freed.filter(|piece| piece.bounds.height.lo >= height)
        };
        if group().next().is_some() {
            self.last = Some(LastFreed {
                index: step.index,
                angle: step.before.angle,
                feed: step.feed,
                shallow_before: self.shallow == Some(height),
                edged: group().all(|piece| piece.entry != Edge::Natural),
                aid: scene.aid_bears(step),
            });
            self.shallow = None;
        } else if step.before.angle == Angle::Flat && step.feed == Some(Feed::Forward) {
            self.shallow = Some(height);
        }
    }
}
