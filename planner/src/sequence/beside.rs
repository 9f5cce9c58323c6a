//! Past the log instead of over it, where somebody would have to walk to crank the blade up.

use bunkside_protocol::mill::HeightSetting;
use bunkside_protocol::{Length, Position, Targets};

use super::PlanErrorKind;
use super::carriage::{Between, Carriage, Way};
use crate::machine::{Apart, Pose, blade_boxes, head_boxes, outward};
use crate::physics::timing::through_air;
use crate::replay::Setup;
use crate::stock::Stock;

/// How the carriage passes what stands higher than where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Passing {
    /// Raised over it.
    Over,
    /// Drawn out past it on the entry side, and left as high as it is.
    Beside,
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
    /// The way over what stands, or, where its height is cranked, beside it, if that can be gone and is quicker.
    pub(super) fn quicker(
        &self,
        pose: &Pose,
        go: &dyn Fn(&mut Way, Passing) -> Result<(), PlanErrorKind>,
    ) -> Result<Between, PlanErrorKind> {
        let mill = self.setup.mill;
        let mut over = Way::from(pose);
        let gone = go(&mut over, Passing::Over);
        if over.passes && mill.height_setting != HeightSetting::Driven {
            let mut beside = Way::from(pose);
            let quicker =
                |way: &Way| through_air(mill, pose, &way.moves) < through_air(mill, pose, &over.moves);
            if go(&mut beside, Passing::Beside).is_ok() && (gone.is_err() || quicker(&beside)) {
                return Ok(beside.moves);
            }
        }
        gone.map(|()| over.moves)
    }

    /// The blade drawn out past the log, and the carriage brought along beside it.
    pub(super) fn draw_out(
        &self,
        way: &mut Way,
        along: &Targets,
        standing: &Standing,
    ) -> Result<(), PlanErrorKind> {
        let past = self.past_the_log(&way.pose).filter(|_| !standing.loose);
        let across = past.ok_or(PlanErrorKind::NoWayOver {
            needed: way.pose.height,
        })?;
        if across < way.pose.across {
            let out = Targets {
                across: Some(across),
                ..Targets::default()
            };
            self.go(way, out)?;
        }
        self.go(way, *along)
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
