//! What a rule sees.

use bunkside_protocol::Position;

use super::History;
use crate::geometry::Block;
use crate::machine::{blade_boxes, head_boxes};
use crate::replay::{CutFacts, Setup, Step};
use crate::stock::{Pick, Piece, Stock};

/// When a rule is asked.
#[derive(Clone, Copy, Debug)]
pub enum Moment<'a> {
    /// After a move has been replayed.
    Move(&'a Step),
    /// After the last move; holds its number.
    End(u16),
}

/// What a rule sees: one moment of a sequence.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    /// The mill and the log.
    pub setup: &'a Setup<'a>,
    /// The move, or the end of the sequence.
    pub moment: Moment<'a>,
    /// What stood before the move.
    pub before: &'a Stock,
    /// What stands after it.
    pub after: &'a Stock,
    /// What the sequence has done so far, this move not counted.
    pub history: &'a History,
}

impl<'a> Situation<'a> {
    /// The move; none at the end.
    #[must_use]
    pub const fn step(&self) -> Option<&'a Step> {
        match self.moment {
            Moment::Move(step) => Some(step),
            Moment::End(_) => None,
        }
    }

    /// Number of the move the finding goes to.
    #[must_use]
    pub const fn index(&self) -> u16 {
        match self.moment {
            Moment::Move(step) => step.index,
            Moment::End(index) => index,
        }
    }

    /// The move and what it meets, where it is a cut that could be judged.
    #[must_use]
    pub fn cut(&self) -> Option<(&'a Step, &'a CutFacts)> {
        let step = self.step()?;
        Some((step, step.cut.as_ref()?))
    }

    /// The pieces that this move freed.
    #[must_use]
    pub fn freed(&self) -> &'a [Piece] {
        let count = self.cut().map_or(0, |(_, facts)| usize::from(facts.freed));
        let pieces = self.after.pieces();
        pieces.get(pieces.len().saturating_sub(count)..).unwrap_or(&[])
    }

    /// Whether a height is the lowest that the sequence cuts at, and near the bed: below a quarter of the log.
    #[must_use]
    pub fn is_bed_level(&self, height: Position) -> bool {
        let log = self.setup.shape.bounds().height;
        let quarter = log.lo.wide() + log.length().wide() / 4;
        self.history.lowest() == Some(height) && height.wide() < quarter
    }

    /// The first of the boxes that the blade fills during this move that satisfies a test.
    pub fn blade_meets(&self, step: &Step, mut test: impl FnMut(Block) -> bool) -> Option<Block> {
        blade_boxes(self.setup.mill, &step.before, &step.after).find(|block| test(*block))
    }

    /// The first of the boxes that hub and housing fill during this move that satisfies a test.
    pub fn head_meets(&self, step: &Step, mut test: impl FnMut(Block) -> bool) -> Option<Block> {
        head_boxes(self.setup.mill, &step.before, &step.after).find(|block| test(*block))
    }

    /// Whether a box meets wood, bark counted, as it stood before the move.
    #[must_use]
    pub fn meets_wood(&self, block: Block, pick: Pick) -> bool {
        self.before
            .touched(&self.setup.shape, block, pick, true)
            .is_some()
    }
}
