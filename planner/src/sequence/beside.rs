//! The quickest way where somebody has to walk to crank the blade up or down, beside a blade that stands.
//!
//! It leads past the log instead of over it where that saves a crank. What is set across takes no time of its own while
//! somebody cranks, so each height is set with the longest shift that may go with it, and no height is set twice.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Length, Position};

use super::PlanErrorKind;
use super::carriage::{Between, Carriage, Way};
use crate::machine::{Apart, Pose, blade_boxes, head_boxes, outward};
use crate::physics::timing::is_quicker;
use crate::replay::Setup;
use crate::stock::Stock;

/// In which manner a way is gone, as bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Manner(u8);

impl Manner {
    /// Raised over what stands, along, swung, and the corner set at last.
    pub(super) const PLAIN: Self = Self(0);
    /// Drawn out past what stands on the entry side, and left as high as it is.
    pub(super) const BESIDE: Self = Self(1);
    /// Swung before it goes along the rails.
    pub(super) const SWING_FIRST: Self = Self(2);
    /// What comes next set before it goes along the rails: the corner's height or what the swing wants, and behind the corner.
    pub(super) const SET_BEFORE: Self = Self(4);
    /// The same where the blade has to be raised to swing, and the corner's height with the draw-back behind it.
    pub(super) const JOINED: Self = Self(8);
    /// All of these.
    const ALL: u8 = 15;

    /// Whether it is one of these.
    pub(super) const fn is(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }
}

/// What the carriage has to pass.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Standing {
    /// The highest place of all that stands or lies, bark included; none where nothing does.
    pub top: Option<Position>,
    /// Whether anything lies loose, or nobody can say whether it does: it may fall to a side, and nobody knows how far it rolls; and
    /// who pushes the carriage has to stand on the other side.
    pub loose: bool,
}

impl Standing {
    /// What there is of a stock.
    #[must_use]
    pub fn of(setup: &Setup<'_>, stock: &Stock) -> Self {
        Self {
            top: stock.top(&setup.shape),
            loose: !stock.pieces().is_empty() || stock.is_in_doubt(),
        }
    }
}

impl Carriage<'_> {
    /// The way raised over what stands; where the height is cranked, the quickest in any manner that can be gone.
    // In line, it takes 0.7 kB of flash more.
    #[inline(never)]
    pub(super) fn quicker(
        &self,
        pose: &Pose,
        to: &Pose,
        go: &dyn Fn(&mut Way) -> Result<(), PlanErrorKind>,
    ) -> Result<Between, PlanErrorKind> {
        let mill = self.setup.mill;
        let mut best = Way::new(pose, to, Manner::PLAIN);
        let mut gone = go(&mut best);
        if mill.height_setting == HeightSetting::Driven {
            return gone.map(|()| best.moves);
        }
        let (passes, swings) = (best.passes, pose.angle != to.angle);
        let along = pose.travel != to.travel;
        for manner in (1..=Manner::ALL).map(Manner) {
            let in_vain = (manner.is(Manner::BESIDE) && !passes)
                || (manner.is(Manner::SWING_FIRST) && !(swings && along))
                || (manner.is(Manner::SET_BEFORE) && !along)
                || (manner != Manner::BESIDE && self.reaches_over());
            if in_vain {
                continue;
            }
            let mut way = Way::new(pose, to, manner);
            if go(&mut way).is_ok() && (gone.is_err() || is_quicker(mill, pose, &way.moves, &best.moves)) {
                (gone, best) = (Ok(()), way);
            }
        }
        gone.map(|()| best.moves)
    }

    /// Where across the blade is drawn out to, past the log, or behind the corner that it is to come to.
    pub(super) fn drawn_out(&self, way: &Way, standing: &Standing) -> Result<Position, PlanErrorKind> {
        let past = self.past_the_log(&way.pose).filter(|_| !standing.loose);
        let past = past.ok_or(PlanErrorKind::NoWayOver {
            needed: way.pose.height,
        })?;
        Ok(past.min(self.aside(&way.pose, way.to.across)))
    }

    /// What comes next, set before it goes along the rails to a place, no lower than it has to be for that.
    pub(super) fn set_before(
        &self,
        way: &Way,
        travel: Position,
        least: Position,
        set: &mut Pose,
        stands: &dyn Fn() -> Standing,
    ) {
        let next = if way.pose.angle == way.to.angle {
            way.to.height
        } else {
            self.swings_next(way, &Pose { travel, ..*set }, stands)
        };
        set.height = if next >= least {
            next
        } else {
            set.height.max(least)
        };
        let beside = way.passes && way.manner.is(Manner::BESIDE);
        if !beside && set.height != way.pose.height {
            set.across = self.aside(&way.pose, way.to.across);
        }
    }

    /// What comes next, set with the height without which it cannot swing.
    pub(super) fn set_to_swing(&self, way: &Way, set: &mut Pose, stands: &dyn Fn() -> Standing) {
        if self.height_to_swing(set, stands) == Ok(set.height) {
            return;
        }
        set.height = self.swings_next(way, set, stands);
        if set.travel == way.to.travel {
            set.across = self.aside(&way.pose, way.to.across);
        }
    }

    /// The height at which it swings next: that of the corner, if it swings clear of everything there.
    fn swings_next(&self, way: &Way, pose: &Pose, stands: &dyn Fn() -> Standing) -> Position {
        let at = |height| {
            let swung = self.height_to_swing(&Pose { height, ..*pose }, stands);
            swung.unwrap_or(pose.height)
        };
        if at(way.to.height) == way.to.height {
            way.to.height
        } else {
            at(pose.height)
        }
    }

    /// Where across, at or on the entry side of where it is, blade and head pass the log on its entry side, as they stand; none where
    /// the axis does not go so far, or where a drive raises them over it.
    #[must_use]
    pub fn past_the_log(&self, pose: &Pose) -> Option<Position> {
        let (mill, log) = (self.setup.mill, self.setup.shape.bounds());
        if mill.height_setting == HeightSetting::Driven {
            return None;
        }
        let clear = Apart::body(mill).across + self.setup.shape.between();
        let parts = blade_boxes(mill, pose, pose).chain(head_boxes(mill, pose, pose));
        let reaches = parts.map(|part| part.across.hi).max()?;
        let over = (reaches + clear - log.across.lo).max(Length::ZERO);
        let across = outward(pose.across - over, mill.grid, false);
        (across >= mill.across.min).then_some(across.min(pose.across))
    }
}

#[cfg(test)]
mod tests;

#[cfg(test)]
mod least;
