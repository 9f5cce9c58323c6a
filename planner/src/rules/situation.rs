//! What a rule sees.

use bunkside_protocol::{Length, MillRecord, Position};

use super::History;
use crate::geometry::{Block, Interval};
use crate::machine::{Apart, Pose, blade_bounds, blade_boxes, head_boxes, head_swing_boxes, swing_boxes};
use crate::replay::{CutFacts, Setup, Step};
use crate::stock::{Pick, Piece, Stock};

/// When a rule is asked.
#[derive(Clone, Copy, Debug)]
pub enum Moment<'a> {
    /// After a move has been replayed.
    Move(&'a Step),
    /// After the last move.
    End(&'a End),
}

/// The end of a sequence.
#[derive(Clone, Copy, Debug)]
pub struct End {
    /// Number of the last move.
    pub index: u16,
    /// Where everything stands then.
    pub pose: Pose,
}

/// One moment of a sequence, as it is for whoever does not know what came before.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// The mill and the log.
    pub setup: &'a Setup<'a>,
    /// The move, or the end of the sequence.
    pub moment: Moment<'a>,
    /// What stood before the move.
    pub before: &'a Stock,
    /// What stands after it.
    pub after: &'a Stock,
}

/// What a rule sees: one moment of a sequence, and what came before it.
#[derive(Clone, Copy, Debug)]
pub struct Situation<'a> {
    scene: Scene<'a>,
    /// What the sequence has done so far, this move not counted.
    pub history: &'a History,
}

impl<'a> core::ops::Deref for Situation<'a> {
    type Target = Scene<'a>;

    fn deref(&self) -> &Scene<'a> {
        &self.scene
    }
}

impl Situation<'_> {
    /// Whether a height is the lowest that the sequence cuts at, and near the bed.
    #[must_use]
    pub fn is_bed_level(&self, height: Position) -> bool {
        self.history.lowest() == Some(height) && self.is_near_bed(height)
    }
}

impl<'a> Scene<'a> {
    /// What a rule sees of it, after such a history.
    #[must_use]
    pub const fn with(self, history: &'a History) -> Situation<'a> {
        Situation { scene: self, history }
    }

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
            Moment::End(end) => end.index,
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
        self.after.newest(count)
    }

    /// Whether a height is near the bed: below a quarter of the log.
    #[must_use]
    pub fn is_near_bed(&self, height: Position) -> bool {
        let log = self.setup.shape.bounds().height;
        height.wide() < log.lo.wide() + log.length().wide() / 4
    }

    /// Whether the pull-back aid bears on all that this move frees: on the whole width of it, since what lies beside it on the
    /// same stroke is as loose as what it bears on.
    #[must_use]
    pub fn aid_bears(&self, step: &Step) -> bool {
        aid_bears(self.setup.mill, step, self.freed())
    }

    /// Whether the pull-back aid bears on something so wide across.
    #[must_use]
    pub fn aid_reaches(&self, step: &Step, across: Interval) -> bool {
        let aid = self.setup.mill.aid.filter(|_| step.before.aid);
        aid.is_some_and(|aid| across.length() <= aid.widest)
    }

    /// How far blade and head are kept from everything: never nothing, so that a blade in its own kerf touches wood
    /// whatever the profile says.
    #[must_use]
    pub fn clearance(&self) -> Apart {
        Apart::body(self.setup.mill)
    }

    /// Whether a kerf stands open in the body after the move: wood over it or on both its sides, up to two kerfs apart.
    #[must_use]
    pub fn has_open_kerf(&self) -> bool {
        let kerf = self.setup.mill.blade.kerf;
        self.after.has_open_kerf(&self.setup.shape, kerf + kerf)
    }

    /// The first of the boxes that the blade fills during this move that satisfies a test.
    ///
    /// They are only looked at where the box around them all is `near`: that must hold of every box around one that
    /// satisfies the test.
    pub fn blade_meets(
        &self,
        step: &Step,
        near: &dyn Fn(Block) -> bool,
        test: &mut dyn FnMut(Block) -> bool,
    ) -> Option<Block> {
        let (mill, from, to) = (self.setup.mill, &step.before, &step.after);
        if near(blade_bounds(mill, from, to)) {
            blade_boxes(mill, from, to).find(|block| test(*block))
        } else {
            None
        }
    }

    /// The first of the boxes that hub and housing fill during this move that satisfies a test.
    pub fn head_meets(&self, step: &Step, test: &mut dyn FnMut(Block) -> bool) -> Option<Block> {
        head_boxes(self.setup.mill, &step.before, &step.after).find(|block| test(*block))
    }

    /// The first of the boxes that blade and head fill while the blade swings where it stands that satisfies a test.
    ///
    /// `near` is what it is in [`Scene::blade_meets`].
    pub fn swing_meets(
        &self,
        step: &Step,
        near: &dyn Fn(Block) -> bool,
        test: &mut dyn FnMut(Block) -> bool,
    ) -> Option<Block> {
        let (mill, pose) = (self.setup.mill, &step.before);
        let swept = self.setup.swept;
        if near(swept.placed(pose.travel, pose.across, pose.height)) {
            swing_boxes(mill, pose)
                .chain(head_swing_boxes(mill, pose))
                .find(|block| test(*block))
        } else {
            None
        }
    }

    /// Whether a box, grown by the clearance, is where any wood has ever been: [`Scene::meets_wood`] is false
    /// elsewhere.
    #[must_use]
    pub fn near_log(&self, block: Block) -> bool {
        block.apart(self.clearance()).overlaps(self.setup.shape.bounds())
    }

    /// Whether a box meets wood, bark counted, as it stood before the move.
    #[must_use]
    pub fn meets_wood(&self, block: Block, pick: Pick) -> bool {
        self.before
            .touched(&self.setup.shape, block, pick, true)
            .is_some()
    }
}

/// Whether the pull-back aid bears on the whole width of what a move freed.
#[must_use]
pub fn aid_bears(mill: &MillRecord, step: &Step, freed: &[Piece]) -> bool {
    let group = freed.iter().map(|piece| piece.bounds.across);
    let group = group.reduce(|all, one| Interval::new(all.lo.min(one.lo), all.hi.max(one.hi)));
    let wide = group.map_or(Length::ZERO, Interval::length);
    step.before.aid && mill.aid.is_some_and(|aid| wide <= aid.widest)
}
