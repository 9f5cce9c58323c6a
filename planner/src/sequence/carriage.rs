//! Getting the carriage where the next stroke begins.

#[cfg(test)]
mod tests;

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Angle, Length, Move, Position, Stroke, Targets};
use heapless::Vec;

use super::beside::{Manner, Standing};
use super::{AxisEnd, PlanErrorKind, room};
use crate::geometry::Interval;
use crate::machine::{Apart, Pose, come_back, ends_beyond, head_swing_boxes, outward, places, swing_boxes};
use crate::replay::Setup;

/// Most moves between two strokes: up and along, up and around, up, aside, and down to the corner.
pub const MOVES_BETWEEN: usize = 7;

/// Moves between two strokes.
pub type Between = Vec<Move, MOVES_BETWEEN>;

/// Where a stroke begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Start {
    /// Which way it runs.
    pub stroke: Stroke,
    /// How the blade stands.
    pub angle: Angle,
    /// The corner across the bed.
    pub across: Position,
    /// The corner above the bed.
    pub height: Position,
}

/// How the carriage gets from stroke to stroke.
#[derive(Clone, Copy, Debug)]
pub struct Carriage<'a> {
    pub(super) setup: &'a Setup<'a>,
    /// Where strokes start and end at the operator's end.
    pub near: Position,
    /// Where they start and end at the other.
    pub far: Position,
}

/// Where strokes start and end: clear of the log, so that swings and positioning there are; see [`ends_beyond`].
pub(crate) fn ends(setup: &Setup<'_>) -> Result<(Position, Position), PlanErrorKind> {
    let (mill, log) = (setup.mill, setup.shape.travel());
    match ends_beyond(mill, log) {
        Ok(beyond) => Ok(places(mill, log, beyond)),
        Err(missing) => Err(PlanErrorKind::BeyondRails { missing }),
    }
}

impl<'a> Carriage<'a> {
    /// The same between any two places, for moves of which nobody knows where their strokes should begin.
    #[must_use]
    pub const fn between(setup: &'a Setup<'a>, near: Position, far: Position) -> Self {
        Self { setup, near, far }
    }

    /// The carriage of a mill beside a log.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::BeyondRails`] where the rails are too short for the log.
    pub fn new(setup: &'a Setup<'a>) -> Result<Self, PlanErrorKind> {
        let (near, far) = ends(setup)?;
        Ok(Self { setup, near, far })
    }

    /// Where a stroke starts along the rails, and where it ends.
    #[must_use]
    pub const fn course(&self, stroke: Stroke) -> (Position, Position) {
        match stroke {
            Stroke::Outbound => (self.near, self.far),
            Stroke::Homebound => (self.far, self.near),
        }
    }

    /// How far a pass may stay short of a kerf's corner, to leave the rest to later ones, before it stands beyond an axis.
    pub(super) fn most_left(&self, angle: Angle, across: Position, height: Position) -> Length {
        let mill = self.setup.mill;
        match angle {
            Angle::Flat => across - outward(mill.across.min, mill.grid, true),
            Angle::Upright => outward(mill.height.max, mill.grid, false) - height,
        }
    }

    /// Refuses a corner to which the axes do not go.
    fn within_axes(&self, across: Position, height: Position) -> Result<(), PlanErrorKind> {
        let mill = self.setup.mill;
        let ends = [
            (AxisEnd::Entry, mill.across.min - across),
            (AxisEnd::Exit, across - mill.across.max),
            (AxisEnd::Bottom, mill.height.min - height),
            (AxisEnd::Top, height - mill.height.max),
        ];
        match ends.into_iter().find(|(_, missing)| *missing > Length::ZERO) {
            Some((end, missing)) => Err(PlanErrorKind::BeyondAxis { end, missing }),
            None => Ok(()),
        }
    }

    /// The height from which it never has to go round a dog, a keep-out box or what lies under the log, nor to be raised over the
    /// log to swing; none where there is nothing of these.
    #[must_use]
    pub fn free_from(&self) -> Option<Position> {
        let (setup, clearance) = (self.setup, Apart::body(self.setup.mill));
        let log = setup.shape.bounds();
        let above = setup.shape.between() + clearance.height + setup.mill.grid.times(2);
        let over = self
            .reaches_over()
            .then(|| log.height.hi + above - setup.swept.height.lo.from_origin());
        room::free_from(setup, [self.near, self.far]).max(over)
    }

    /// Whether the rails are so short that blade or head reach over the log at an end of them, or nearly so.
    pub(super) fn reaches_over(&self) -> bool {
        let (setup, clearance) = (self.setup, Apart::body(self.setup.mill));
        let log = setup.shape.bounds();
        [self.near, self.far].into_iter().any(|end| {
            let swept = setup.swept.placed(end, Position::ZERO, Position::ZERO);
            swept.travel.grown(clearance.travel).overlaps(log.travel)
        })
    }

    /// The moves from a pose to where a stroke begins: along the rails, raised over what stands if need be, or past it; the swing; the
    /// corner. `stands` tells what there is to pass.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoWayOver`], [`PlanErrorKind::NoRoomToSwing`], [`PlanErrorKind::InTheWay`] and
    /// [`PlanErrorKind::BeyondAxis`].
    pub fn approach(
        &self,
        pose: &Pose,
        start: &Start,
        stands: impl Fn() -> Standing,
    ) -> Result<Between, PlanErrorKind> {
        let (travel, _) = self.course(start.stroke);
        let to = Pose {
            travel,
            across: start.across,
            height: start.height,
            angle: start.angle,
            ..*pose
        };
        self.way(pose, &to, stands)
    }

    /// The same to wherever another pose stands.
    ///
    /// # Errors
    ///
    /// As of [`Self::approach`].
    pub fn way(
        &self,
        pose: &Pose,
        to: &Pose,
        stands: impl Fn() -> Standing,
    ) -> Result<Between, PlanErrorKind> {
        self.quicker(pose, to, &|way| {
            if !way.manner.is(Manner::SWING_FIRST) {
                self.along(way, to.travel, &stands)?;
            }
            self.swing(way, to.angle, &stands)?;
            self.along(way, to.travel, &stands)?;
            self.corner(way, to.across, to.height)
        })
    }

    /// The moves that bring the carriage, empty, to a place along the rails.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoWayOver`] and [`PlanErrorKind::InTheWay`].
    pub fn way_along(
        &self,
        pose: &Pose,
        to: Position,
        stands: impl Fn() -> Standing,
    ) -> Result<Between, PlanErrorKind> {
        let there = Pose { travel: to, ..*pose };
        self.quicker(pose, &there, &|way| self.along(way, to, &stands))
    }

    /// The moves that swing the blade where it stands, raised first if need be.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoRoomToSwing`], [`PlanErrorKind::NoWayOver`] and [`PlanErrorKind::InTheWay`].
    pub fn way_around(
        &self,
        pose: &Pose,
        angle: Angle,
        stands: impl Fn() -> Standing,
    ) -> Result<Between, PlanErrorKind> {
        let mut way = Way::new(pose, pose, Manner::PLAIN);
        self.swing(&mut way, angle, &stands)?;
        Ok(way.moves)
    }

    /// The moves that bring the carriage home at the end of a job.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoWayOver`] and [`PlanErrorKind::InTheWay`].
    pub fn home(&self, pose: &Pose, stands: impl Fn() -> Standing) -> Result<Between, PlanErrorKind> {
        self.way_along(pose, self.near, stands)
    }

    /// Brings the carriage, empty, to a place.
    fn along(
        &self,
        way: &mut Way,
        start: Position,
        stands: &dyn Fn() -> Standing,
    ) -> Result<(), PlanErrorKind> {
        if way.pose.travel == start {
            return Ok(());
        }
        let along = Targets::travel(start);
        let mut set = way.pose;
        let mut least = Position::MIN;
        if Interval::between(way.pose.travel, start).overlaps(self.setup.shape.travel()) {
            let standing = stands();
            let over = self.over(standing.top);
            way.passes = !over.is_ok_and(|over| over <= set.height);
            if way.passes && way.manner.is(Manner::BESIDE) {
                set.across = self.drawn_out(way, &standing)?;
            } else {
                least = over?;
            }
        }
        if way.manner.is(Manner::SET_BEFORE) {
            self.set_before(way, start, least, &mut set, stands);
        } else {
            set.height = set.height.max(least);
        }
        set.height = room::height_to_pass(self.setup, &set, &along).map_err(PlanErrorKind::InTheWay)?;
        self.set(way, set.across, set.height)?;
        self.go(way, along)
    }

    /// Sets across and height where the blade stands.
    fn set(&self, way: &mut Way, across: Position, height: Position) -> Result<(), PlanErrorKind> {
        let targets = Targets {
            travel: None,
            across: (across != way.pose.across).then_some(across),
            height: (height != way.pose.height).then_some(height),
        };
        if targets.is_empty() {
            return Ok(());
        }
        self.go(way, targets)
    }

    /// A move that meets nothing that stands fixed on the mill.
    pub(super) fn go(&self, way: &mut Way, targets: Targets) -> Result<(), PlanErrorKind> {
        match room::in_the_way(self.setup, &way.pose, &way.pose.at(&targets)) {
            Some(fixture) => Err(PlanErrorKind::InTheWay(fixture)),
            None => {
                way.go(targets);
                Ok(())
            }
        }
    }

    /// The lowest height at which everything passes over what stands.
    fn over(&self, top: Option<Position>) -> Result<Position, PlanErrorKind> {
        let mill = self.setup.mill;
        let margin = self.setup.shape.between() + Apart::body(mill).height;
        let needed = outward(
            top.unwrap_or(Position::ZERO) + margin + mill.grid,
            mill.grid,
            true,
        );
        if needed <= mill.height.max {
            Ok(needed)
        } else {
            Err(PlanErrorKind::NoWayOver { needed })
        }
    }

    /// Swings the blade, raised first where the sweep would meet bed, dogs, keep-out boxes or the log.
    fn swing(&self, way: &mut Way, angle: Angle, stands: &dyn Fn() -> Standing) -> Result<(), PlanErrorKind> {
        if way.pose.angle == angle {
            return Ok(());
        }
        let mut set = way.pose;
        if way.manner.is(Manner::JOINED) {
            self.set_to_swing(way, &mut set, stands);
        }
        set.height = self.height_to_swing(&set, stands)?;
        self.set(way, set.across, set.height)?;
        way.pose.angle = angle;
        way.push(Move::Swing(angle));
        Ok(())
    }

    /// The height at or above that of a pose at which the blade swings clear of everything.
    pub(super) fn height_to_swing(
        &self,
        pose: &Pose,
        stands: &dyn Fn() -> Standing,
    ) -> Result<Position, PlanErrorKind> {
        let height = room::height_to_swing(self.setup, pose).map_err(PlanErrorKind::NoRoomToSwing)?;
        self.swings_over(&Pose { height, ..*pose }, stands)
    }

    /// The height at or above that of a pose at which the blade swings over what stands of the log, where the rails are so short
    /// that blade or head reach over it.
    fn swings_over(&self, pose: &Pose, stands: &dyn Fn() -> Standing) -> Result<Position, PlanErrorKind> {
        let (mill, log) = (self.setup.mill, self.setup.shape.bounds());
        let clearance = Apart::body(mill);
        let swept = self.setup.swept.placed(pose.travel, pose.across, pose.height);
        if !swept.apart(clearance).overlaps(log) {
            return Ok(pose.height);
        }
        let Some(top) = stands().top else {
            return Ok(pose.height);
        };
        let parts = swing_boxes(mill, pose).chain(head_swing_boxes(mill, pose));
        let parts = parts.map(|part| part.apart(clearance));
        let reaching =
            parts.filter(|part| part.travel.overlaps(log.travel) && part.across.overlaps(log.across));
        let missing = reaching
            .map(|part| top + self.setup.shape.between() - part.height.lo)
            .max();
        let Some(missing) = missing.filter(|missing| *missing > Length::ZERO) else {
            return Ok(pose.height);
        };
        let needed = outward(pose.height + missing + mill.grid, mill.grid, true);
        if needed <= mill.height.max {
            Ok(needed)
        } else {
            Err(PlanErrorKind::NoWayOver { needed })
        }
    }

    /// How high the blade has to be raised at least before it swings, so that its sweep does not go below the bed; none where
    /// it need not be raised for that. What stands on the bed may ask for more.
    #[must_use]
    pub fn raised_to_swing(&self, pose: &Pose) -> Option<Position> {
        let mill = self.setup.mill;
        let lowest = swing_boxes(mill, pose).map(|block| block.height.lo).min()?;
        let missing = Position::ZERO + mill.height.play() - lowest;
        (missing > Length::ZERO).then(|| outward(pose.height + missing, mill.grid, true))
    }

    /// Sets the corner, always coming from the entry side and from above, so that play in the drives lies one way. Who sets
    /// the height by hand takes up the play as he does it, and walks once.
    ///
    /// Where something stands in the way, up first, then across, then down.
    fn corner(&self, way: &mut Way, across: Position, height: Position) -> Result<(), PlanErrorKind> {
        self.within_axes(across, height)?;
        let (pose, mill) = (way.pose, self.setup.mill);
        let beside = come_back(mill);
        let from_entry = across >= pose.across;
        let by_hand = matches!(mill.height_setting, HeightSetting::ByHand(_));
        let from_above = by_hand || height <= pose.height;
        let aside = self.aside(&pose, across);
        let above = if way.manner.is(Manner::JOINED) {
            height
        } else if from_above {
            pose.height
        } else {
            (height + beside).min(outward(mill.height.max, mill.grid, false))
        };
        let via = (if from_entry { pose.across } else { aside }, above);
        let straight = [via, (across, height)];
        let mut direct = way.clone();
        let straight = if from_entry && from_above {
            &straight[1..]
        } else {
            &straight[..]
        };
        if self.through(&mut direct, straight).is_ok() {
            *way = direct;
            return Ok(());
        }
        let up = Pose {
            height: above.max(height),
            ..pose
        };
        let to_side = Targets {
            across: Some(aside),
            ..Targets::default()
        };
        let passing = room::height_to_pass(self.setup, &up, &to_side).map_err(PlanErrorKind::InTheWay)?;
        let around = [(pose.across, passing), (aside, passing), (across, height)];
        self.through(way, &around)
    }

    /// Where across a corner is come to from a pose: there, or from behind it on its entry side.
    pub(super) fn aside(&self, pose: &Pose, across: Position) -> Position {
        let mill = self.setup.mill;
        if across >= pose.across {
            across
        } else {
            (across - come_back(mill)).max(outward(mill.across.min, mill.grid, true))
        }
    }

    /// Sets the corner at one place after another.
    fn through(&self, way: &mut Way, corners: &[(Position, Position)]) -> Result<(), PlanErrorKind> {
        corners
            .iter()
            .try_for_each(|(across, height)| self.set(way, *across, *height))
    }
}

/// Moves in the making, and where they lead.
#[derive(Clone)]
pub(super) struct Way {
    pub(super) pose: Pose,
    /// Where it is to lead.
    pub(super) to: Pose,
    pub(super) manner: Manner,
    pub(super) moves: Between,
    /// Whether it passes what stands higher than where it begins.
    pub(super) passes: bool,
}

impl Way {
    pub(super) const fn new(from: &Pose, to: &Pose, manner: Manner) -> Self {
        Self {
            pose: *from,
            to: *to,
            manner,
            moves: Vec::new(),
            passes: false,
        }
    }

    fn go(&mut self, targets: Targets) {
        self.pose = self.pose.at(&targets);
        self.push(Move::Go(targets));
    }

    /// There are never more: two to the start, two to the swing, three to the corner.
    fn push(&mut self, told: Move) {
        let _ = self.moves.push(told);
    }
}
