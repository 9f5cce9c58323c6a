//! Kerfs in as many passes as they need.

use bunkside_protocol::{Act, Acts, Angle, Cut, Feed, Length, Move, Position, Speed, Stroke, Targets};
use heapless::Vec;

use super::beside::Standing;
use super::carriage::Start;
use super::feed::deepest;
use super::{Done, PlanErrorKind, Sequencer, room};
use crate::geometry::{Block, Interval};
use crate::limits::{LEAST_PASS, LIGAMENT, PASSES_MAX};
use crate::machine::{Apart, Pose, head_boxes, kerf_box, outward};
use crate::physics::sag::sags_too_far;
use crate::replay::{CutFacts, Setup, Step, beside};
use crate::stock::{Neck, NotJudged, Pick, Slender, Stock};

/// One pass: how much of the kerf is left for later ones, and the stroke.
type Pass = (Length, Stroke);

/// What kind of kerf is cut.
#[derive(Clone, Copy)]
pub(super) struct Kerf {
    pub(super) angle: Angle,
    pub(super) across: Position,
    pub(super) height: Position,
    /// The stroke of the last pass.
    pub(super) last: Stroke,
    /// At least so many passes.
    pub(super) at_least: u8,
    /// Whether it is meant to release columns.
    pub(super) release: bool,
    /// Whether a pass that frees nothing has to go before the one that frees.
    pub(super) shallow_first: bool,
}

impl Kerf {
    /// A kerf with nothing special about it.
    pub(super) const fn plain(angle: Angle, across: Position, height: Position, last: Stroke) -> Self {
        Self {
            angle,
            across,
            height,
            last,
            at_least: 1,
            release: false,
            shallow_first: false,
        }
    }
}

impl Sequencer<'_, '_> {
    /// Cuts a kerf in as many passes as it needs; pieces that come free are unloaded. Nothing happens where the
    /// kerf meets no wood.
    pub(super) fn kerf(&mut self, kerf: Kerf) -> Done {
        let Some(bite) = self.bite(&kerf)? else {
            return Ok(());
        };
        let knife = self.pose().knife;
        let mut passes = self.passes(&kerf, bite, knife);
        let knife_in_the_way = passes == Err(PlanErrorKind::NoShallowPass) && knife;
        if knife_in_the_way {
            passes = self.passes(&kerf, bite, false);
        }
        let mut passes = passes?;
        passes.reverse();
        let mut standing = bite;
        while let Some((left, usual)) = passes.pop() {
            let left = self.off_a_thread(&kerf, left, standing)?;
            let mut pose = self.pose_of(&kerf, left);
            let only_one = left == Length::ZERO && standing == bite;
            if !only_one && self.meets_nothing(&pose) {
                if kerf.shallow_first && left > Length::ZERO {
                    return Err(PlanErrorKind::NoShallowPass);
                }
                standing = left;
                continue;
            }
            let may_turn = self.may_turn(&kerf, &pose, standing - left, usual)?;
            let too_deep = self.too_deep(&kerf, standing - left, usual, pose.knife && !knife_in_the_way);
            let chosen = match too_deep {
                Some(kind) => Err(kind),
                None => self.chosen(&pose, usual, may_turn),
            };
            match chosen {
                Ok((stroke, speed)) => {
                    if knife_in_the_way && pose.knife && self.possible(&pose, stroke).is_err() {
                        self.hold(Acts::one(Act::KnifeOff))?;
                        pose.knife = false;
                    }
                    self.possible(&pose, stroke)?;
                    self.begin(&pose, stroke)?;
                    // An edged column may come off before the last pass.
                    let release = kerf.release && (left == Length::ZERO || self.frees(&kerf, pose.across)?);
                    self.stroke(stroke, speed, release)?;
                    self.unload()?;
                    standing = left;
                }
                // What stands would move even at the slowest feed, or the blade bite too deep: a shallower pass goes before.
                Err(kind) => {
                    let half = self.part_way(&kerf, left, standing)?;
                    if !(too_deep.is_some() || kind.is_of_the_log()) || standing - half < LEAST_PASS {
                        return Err(kind);
                    }
                    passes.push((left, usual)).map_err(|_| kind)?;
                    let stroke = self.halved(&kerf, &pose, standing - half, usual);
                    passes.push((half, stroke)).map_err(|_| kind)?;
                }
            }
        }
        if knife && !self.pose().knife {
            self.hold(Acts::one(Act::KnifeOn))
        } else {
            Ok(())
        }
    }

    /// What rounding to the grid and what hides between samples may add to a pass.
    fn in_hand(&self) -> Length {
        self.setup.mill.grid + self.setup.shape.between()
    }

    /// Why a pass bites too deep on its stroke, if it does: the one before it may have left it more, off a thread.
    fn too_deep(&self, kerf: &Kerf, bite: Length, stroke: Stroke, knife: bool) -> Option<PlanErrorKind> {
        let deepest = deepest(self.setup, kerf.angle, stroke, knife);
        (bite > deepest.depth - self.in_hand()).then_some(PlanErrorKind::NoPass(deepest.limit))
    }

    /// What a pass leaves: a little more where it would leave a part hanging by so little that it breaks, or that nobody could say
    /// whether it hangs, and all is clear with that little more.
    fn off_a_thread(&mut self, kerf: &Kerf, left: Length, standing: Length) -> Result<Length, PlanErrorKind> {
        let mut doubtful = |left| {
            let pose = self.pose_of(kerf, left);
            let unknown = self.would_free(&pose)?.is_none() && kerf.angle == Angle::Flat;
            Ok(unknown || self.would_hang())
        };
        if left == Length::ZERO || standing - left - LIGAMENT < LEAST_PASS || !doubtful(left)? {
            return Ok(left);
        }
        // Towards a thick end the more, the sooner it is long enough.
        let mut more = LIGAMENT;
        while standing - left - more >= LEAST_PASS {
            if !doubtful(left + more)? {
                return Ok(left + more);
            }
            more += more;
        }
        Ok(left)
    }

    /// The stroke of a pass that goes half as deep as one on the `usual` stroke: that of the last one, where it bites so deep.
    fn halved(&self, kerf: &Kerf, pose: &Pose, bite: Length, usual: Stroke) -> Stroke {
        if bite > deepest(self.setup, kerf.angle, kerf.last, pose.knife).depth - self.in_hand() {
            usual
        } else {
            kerf.last
        }
    }

    /// Whether a pass finds no wood to cut: what it was to cut has come off with one before it.
    fn meets_nothing(&self, pose: &Pose) -> bool {
        self.met(kerf_box(self.setup.mill, pose, Interval::ALL)).is_none()
    }

    /// How much a pass leaves that goes half as deep as one that leaves `left` of what is standing; over the bunks less
    /// deep still where it would free something, which only the last pass may.
    fn part_way(&mut self, kerf: &Kerf, left: Length, standing: Length) -> Result<Length, PlanErrorKind> {
        let mut half = left + (standing - left).half_floor();
        while kerf.shallow_first
            && standing - half >= LEAST_PASS
            && self.frees(kerf, self.pose_of(kerf, half).across)?
        {
            half += (standing - half).half_floor();
        }
        Ok(half)
    }

    /// Where the corner stands in a pass that leaves so much of a kerf to later ones.
    fn pose_of(&self, kerf: &Kerf, left: Length) -> Pose {
        let grid = self.setup.mill.grid;
        let (across, height) = match kerf.angle {
            Angle::Flat => (outward(kerf.across - left, grid, false), kerf.height),
            Angle::Upright => (kerf.across, outward(kerf.height + left, grid, true)),
        };
        Pose {
            across,
            height,
            angle: kerf.angle,
            ..self.pose()
        }
    }

    /// Whether a pass may as well be cut on the other stroke: on a powered carriage, where the mill bites as deep on it,
    /// and it is not a flat one that frees something, which has to climb, or goes before such a one over the bunks.
    fn may_turn(
        &mut self,
        kerf: &Kerf,
        pose: &Pose,
        bite: Length,
        usual: Stroke,
    ) -> Result<bool, PlanErrorKind> {
        if self.setup.mill.drive.is_hand() || kerf.shallow_first {
            return Ok(false);
        }
        let deepest = deepest(self.setup, kerf.angle, usual.back(), pose.knife).depth;
        if bite > deepest - self.in_hand() {
            return Ok(false);
        }
        match kerf.angle {
            Angle::Flat => Ok(!self.frees(kerf, pose.across)? && !self.faces().is_under_bark(pose)),
            Angle::Upright => Ok(true),
        }
    }

    /// How far the rim of a flat pass may go without freeing anything, by trial: what it leaves hangs for sure.
    fn held_up_to(&mut self, kerf: &Kerf, bite: Length) -> Result<Position, PlanErrorKind> {
        let grid = self.setup.mill.grid.max(Length::mm(1));
        let (mut held, mut frees) = (kerf.across - bite, kerf.across);
        while frees - held > grid {
            let middle = held + (frees - held).half_floor();
            if self.frees(kerf, middle)? {
                frees = middle;
            } else {
                held = middle;
            }
        }
        Ok(held)
    }

    /// Whether a flat pass with its rim here would free anything, or might.
    pub(super) fn frees(&mut self, kerf: &Kerf, rim: Position) -> Result<bool, PlanErrorKind> {
        let pose = Pose {
            across: rim,
            height: kerf.height,
            angle: kerf.angle,
            ..self.pose()
        };
        Ok(self.would_free(&pose)?.is_none_or(|freed| freed > 0))
    }

    /// How many parts a pass would free; none where nobody can say.
    fn would_free(&mut self, pose: &Pose) -> Result<Option<usize>, PlanErrorKind> {
        let kerf = kerf_box(self.setup.mill, pose, Interval::ALL);
        match self.replay.would_free(kerf) {
            Ok(freed) => Ok(Some(freed)),
            Err(NotJudged::Thread) => Ok(None),
            Err(reason) => Err(PlanErrorKind::NotJudged(reason)),
        }
    }

    /// How deep the kerf's fresh wood is, its cover checked; none where there is none.
    fn bite(&self, kerf: &Kerf) -> Result<Option<Length>, PlanErrorKind> {
        let pose = Pose {
            across: kerf.across,
            height: kerf.height,
            angle: kerf.angle,
            ..self.pose()
        };
        let shape = &self.setup.shape;
        let whole = kerf_box(self.setup.mill, &pose, Interval::ALL);
        let Some(met) = self.replay.stock().met(shape, whole, Pick::Body) else {
            return Ok(None);
        };
        self.no_metal(whole)?;
        let over = beside(&pose, whole);
        let limit = self.cover(kerf.angle);
        let depth = |wood: &Block| CutFacts::depth(kerf.angle, &pose, wood);
        let cover = self
            .replay
            .stock()
            .met(shape, over, Pick::Body)
            .map_or(Length::ZERO, |wood| depth(&wood) + shape.between());
        if cover > limit {
            return Err(match kerf.angle {
                Angle::Flat => PlanErrorKind::TooWide { cover, limit },
                Angle::Upright => PlanErrorKind::TooDeep { cover, limit },
            });
        }
        if self.head_in_wood(&pose) {
            return Err(PlanErrorKind::HousingInWood);
        }
        Ok(Some(depth(&met)))
    }

    /// Whether hub or housing would push against wood or bark somewhere along the log.
    fn head_in_wood(&self, pose: &Pose) -> bool {
        let clearance = Apart::body(self.setup.mill);
        let hits = |block: Block| {
            let along = Block {
                travel: Interval::ALL,
                ..block.apart(clearance)
            };
            let stock = self.replay.stock();
            stock
                .touched(&self.setup.shape, along, Pick::Body, true)
                .is_some()
        };
        head_boxes(self.setup.mill, pose, pose).any(hits)
    }

    /// Refuses a pass for which the housing has no room, or that bites deeper on its stroke than the mill does.
    pub(super) fn possible(&self, pose: &Pose, stroke: Stroke) -> Done {
        if self.head_in_wood(pose) {
            return Err(PlanErrorKind::HousingInWood);
        }
        let kerf = kerf_box(self.setup.mill, pose, Interval::ALL);
        let fresh = self.replay.stock().met(&self.setup.shape, kerf, Pick::Body);
        let depth = |wood: Block| CutFacts::depth(pose.angle, pose, &wood) + self.setup.shape.between();
        let bite = fresh.map_or(Length::ZERO, depth);
        let deepest = deepest(self.setup, pose.angle, stroke, pose.knife);
        if bite > deepest.depth {
            return Err(PlanErrorKind::NoPass(deepest.limit));
        }
        Ok(())
    }

    /// Refuses a kerf that would come too near to metal in wood that is still there.
    fn no_metal(&self, kerf: Block) -> Done {
        match metal_near(self.setup, self.replay.stock(), kerf) {
            Some(metal) => Err(PlanErrorKind::Metal {
                travel: metal.travel.lo,
            }),
            None => Ok(()),
        }
    }

    /// Splits a bite into passes, the last on the stroke that is wanted.
    ///
    /// Passes that free nothing alternate their strokes (a hand carriage: all on the same one); those that may free
    /// something before the last does run on the last one's stroke.
    fn passes(
        &mut self,
        kerf: &Kerf,
        bite: Length,
        knife: bool,
    ) -> Result<Vec<Pass, PASSES_MAX>, PlanErrorKind> {
        let alternate = !self.setup.mill.drive.is_hand();
        let in_hand = self.in_hand();
        let held = match kerf.angle {
            Angle::Flat
                if kerf.at_least > 1
                    || bite > deepest(self.setup, kerf.angle, kerf.last, knife).depth - in_hand =>
            {
                kerf.across - self.held_up_to(kerf, bite)?
            }
            Angle::Flat | Angle::Upright => Length::ZERO,
        };
        let mut passes: Vec<Pass, PASSES_MAX> = Vec::new();
        let (mut left, mut stroke, mut made) = (Length::ZERO, kerf.last, 0_i64);
        while left < bite {
            let deepest = deepest(self.setup, kerf.angle, stroke, knife);
            let limit = deepest.depth - in_hand;
            let shallow = PlanErrorKind::NoPass(deepest.limit);
            if limit < self.setup.mill.grid {
                return Err(shallow);
            }
            passes.insert(0, (left, stroke)).map_err(|_| shallow)?;
            // What the passes so far could not take, those before them share.
            let before = i64::from(kerf.at_least).saturating_sub(made).max(1);
            let share = Length::um((bite - left).wide() / before + 1).max(self.setup.mill.grid);
            made += 1;
            let next = left + limit.min(share.max(held - left));
            let enough = made >= i64::from(kerf.at_least) && bite - left <= limit;
            match self.within_axis(kerf, [left, next, bite], enough) {
                Some(next) => left = next,
                None => break,
            }
            stroke = if alternate && left >= held {
                stroke.back()
            } else {
                kerf.last
            };
        }
        let freeing = passes
            .iter()
            .filter(|(left, _)| *left < held || *left == Length::ZERO)
            .count();
        if kerf.shallow_first && (freeing > 1 || passes.len() == freeing) {
            return Err(PlanErrorKind::NoShallowPass);
        }
        Ok(passes)
    }

    /// How much a pass leaves to one that itself leaves `left`: no more than keeps it within the axis. None where it would stand
    /// beyond and the later one does without it.
    fn within_axis(&self, kerf: &Kerf, [left, next, bite]: [Length; 3], enough: bool) -> Option<Length> {
        let most = self.carriage.most_left(kerf.angle, kerf.across, kerf.height);
        if next >= bite || next <= most || kerf.shallow_first {
            Some(next)
        } else if enough {
            None
        } else {
            // Where that is no way either, the carriage tells by how much.
            Some(if most > left { most } else { next })
        }
    }

    /// Brings the carriage to where a stroke begins.
    pub(super) fn begin(&mut self, pose: &Pose, stroke: Stroke) -> Done {
        let (from, to) = self.carriage.course(stroke);
        let at = |travel| Pose { travel, ..*pose };
        if let Some(fixture) = room::in_the_cut(self.setup, &at(from), &at(to)) {
            return Err(PlanErrorKind::InTheWay(fixture));
        }
        let start = Start {
            stroke,
            angle: pose.angle,
            across: pose.across,
            height: pose.height,
        };
        let (stock, setup) = (self.replay.stock(), self.setup);
        let moves = self
            .carriage
            .approach(self.replay.pose(), &start, || Standing::of(setup, stock))?;
        self.emit_all(&moves)
    }

    /// One cut through the whole log.
    fn stroke(&mut self, stroke: Stroke, speed: Speed, release: bool) -> Done {
        let (_, to) = self.carriage.course(stroke);
        let pose = self.pose();
        let feed = self.setup.mill.feed(pose.angle, stroke);
        self.bears(&pose, feed, speed)?;
        let step = self.emit(&Move::Cut(Cut {
            to: Targets::travel(to),
            speed,
            feed: Some(feed),
            release,
        }))?;
        self.leaves_nothing_thin(&step)?;
        self.lets_nothing_fall(&step)?;
        self.keeps_its_rim(&step)?;
        self.lies_still(&step)
    }

    /// Refuses a cut that has left a lath or a skin.
    fn leaves_nothing_thin(&self, step: &Step) -> Done {
        let cut = step.cut.as_ref().filter(|facts| facts.met.is_some());
        let angle = step.before.angle;
        let slender = Slender::between(self.setup.mill, angle);
        let left = cut.and_then(|facts| {
            let stock = self.replay.stock();
            stock.thin_beside(&self.setup.shape, facts.kerf, angle, slender)
        });
        if let Some(thin) = left {
            return Err(PlanErrorKind::ThinWood {
                thick: thin.thick,
                least: slender.least(thin.reach),
            });
        }
        match cut.and_then(|_| self.neck(self.replay.stock())) {
            Some(neck) => Err(PlanErrorKind::Neck(neck)),
            None => Ok(()),
        }
    }

    /// Whether what the last trial would leave hangs by too little.
    pub(super) fn would_hang(&self) -> bool {
        self.neck(self.replay.previous()).is_some()
    }

    /// The part of a stock that hangs by too little, if there is one.
    fn neck(&self, stock: &Stock) -> Option<Neck> {
        stock.neck(&self.setup.shape, self.setup.log.density, LIGAMENT)
    }

    /// Refuses a cut under which what remains sags too far.
    fn bears(&self, pose: &Pose, feed: Feed, speed: Speed) -> Done {
        let (setup, stock) = (self.setup, self.replay.stock());
        let whole = kerf_box(setup.mill, pose, Interval::ALL);
        let Some(met) = stock.met(&setup.shape, whole, Pick::Body) else {
            return Ok(());
        };
        let depth = CutFacts::depth(pose.angle, pose, &met) + setup.shape.between();
        match sags_too_far(setup, stock, pose.angle, feed, (depth, speed)) {
            Some(_) => Err(PlanErrorKind::Sags),
            None => Ok(()),
        }
    }
}

/// The first place with metal that a kerf would come too near to, in wood or bark that is still there.
#[must_use]
pub fn metal_near(setup: &Setup<'_>, stock: &Stock, kerf: Block) -> Option<Block> {
    let mut metal = setup.log.metal.iter().map(Block::from_record);
    let kept = Apart::metal(setup.mill);
    metal.find(|metal| {
        let near = metal.apart(kept).meet(kerf);
        !near.is_empty() && stock.touched(&setup.shape, near, Pick::Any, true).is_some()
    })
}

#[cfg(test)]
mod tests;
