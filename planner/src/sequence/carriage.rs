//! Getting the carriage where the next stroke begins.

use bunkside_protocol::{Angle, Length, Move, Position, Stroke, Targets};
use heapless::Vec;

use super::PlanErrorKind;
use crate::geometry::{Interval, scale};
use crate::limits::APPROACH;
use crate::machine::{Pose, run_out, swing_boxes};
use crate::replay::Setup;

/// Most moves between two strokes: up and along, up and around, aside and down, to the corner.
pub const MOVES_BETWEEN: usize = 6;

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
    setup: &'a Setup<'a>,
    /// Where strokes start and end at the operator's end.
    pub near: Position,
    /// Where they start and end at the other.
    pub far: Position,
}

/// Where strokes start and end: a blade's radius and the clearance past the log's ends, so that swings and
/// positioning there are clear of the log; where the rails are too short for that, the blade's chord at full cover.
pub(crate) fn ends(setup: &Setup<'_>) -> Result<(Position, Position), PlanErrorKind> {
    let mill = setup.mill;
    let log = setup.shape.travel();
    let heads = mill.head.iter().flatten().map(|head| {
        let [lo, _, _] = head.min;
        let [hi, _, _] = head.max;
        hi.from_origin().max(-lo.from_origin())
    });
    let wide = heads.fold(mill.blade.radius, Length::max) + mill.clearances.body + mill.clearances.body;
    let [flat, upright] = mill.reach.cover;
    let speed = i64::from(mill.power.feed_max.as_um_per_s());
    let stopping = Length::um(scale(
        speed,
        speed,
        2 * i64::from(mill.travel.acceleration.max(1)),
    ));
    let rails = Interval::new(mill.travel.min + stopping, mill.travel.max - stopping);
    let run_out = run_out(mill, flat.max(upright));
    let mut missing = Length::ZERO;
    for beyond in [wide.max(run_out), run_out] {
        let near = Position::um(log.lo.wide() - beyond.wide());
        let far = Position::um(log.hi.wide() + beyond.wide());
        let (near, far) = (outward(near, mill.grid, false), outward(far, mill.grid, true));
        missing = (rails.lo - near).max(far - rails.hi);
        if missing <= Length::ZERO {
            return Ok((near, far));
        }
    }
    Err(PlanErrorKind::BeyondRails { missing })
}

/// The grid place at or beyond a place: upward, or downward.
pub(crate) fn outward(place: Position, grid: Length, up: bool) -> Position {
    let snapped = place.snapped(grid);
    if up && snapped < place {
        snapped + grid
    } else if !up && snapped > place {
        snapped - grid
    } else {
        snapped
    }
}

impl<'a> Carriage<'a> {
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

    /// The moves from a pose to where a stroke begins: along the rails, raised over what stands if need be; the swing; the
    /// corner. `top` tells how high the wood stands, bark included.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoWayOver`] and [`PlanErrorKind::NoRoomToSwing`].
    pub fn approach(
        &self,
        pose: &Pose,
        start: &Start,
        top: impl FnOnce() -> Option<Position>,
    ) -> Result<Between, PlanErrorKind> {
        let mut way = Way::from(pose);
        self.ready(&mut way, start.stroke, top)?;
        self.swing(&mut way, start.angle)?;
        self.corner(&mut way, start.across, start.height);
        Ok(way.moves)
    }

    /// The moves that bring the carriage home at the end of a job.
    ///
    /// # Errors
    ///
    /// [`PlanErrorKind::NoWayOver`].
    pub fn home(
        &self,
        pose: &Pose,
        top: impl FnOnce() -> Option<Position>,
    ) -> Result<Between, PlanErrorKind> {
        let mut way = Way::from(pose);
        self.ready(&mut way, Stroke::Outbound, top)?;
        Ok(way.moves)
    }

    /// Brings the carriage, empty, to the end where a stroke starts.
    fn ready(
        &self,
        way: &mut Way,
        stroke: Stroke,
        top: impl FnOnce() -> Option<Position>,
    ) -> Result<(), PlanErrorKind> {
        let (start, _) = self.course(stroke);
        if way.pose.travel == start {
            return Ok(());
        }
        if Interval::between(way.pose.travel, start).overlaps(self.setup.shape.travel()) {
            let over = self.over(top())?;
            if over > way.pose.height {
                way.go(Targets {
                    height: Some(over),
                    ..Targets::default()
                });
            }
        }
        way.go(Targets::travel(start));
        Ok(())
    }

    /// The lowest height at which everything passes over what stands.
    fn over(&self, top: Option<Position>) -> Result<Position, PlanErrorKind> {
        let mill = self.setup.mill;
        let margin = self.setup.shape.between() + mill.clearances.body;
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

    /// Swings the blade, raised first where the sweep would go below the bed.
    fn swing(&self, way: &mut Way, angle: Angle) -> Result<(), PlanErrorKind> {
        if way.pose.angle == angle {
            return Ok(());
        }
        let mill = self.setup.mill;
        let lowest = swing_boxes(mill, &way.pose)
            .map(|block| block.height.lo)
            .min()
            .unwrap_or(way.pose.height);
        if lowest < Position::ZERO {
            let raised = outward(way.pose.height + (Position::ZERO - lowest), mill.grid, true);
            if raised > mill.height.max {
                return Err(PlanErrorKind::NoRoomToSwing);
            }
            way.go(Targets {
                height: Some(raised),
                ..Targets::default()
            });
        }
        way.pose.angle = angle;
        way.push(Move::Swing(angle));
        Ok(())
    }

    /// Sets the corner, always coming from the entry side and from above, so that play in the drives lies one way.
    fn corner(&self, way: &mut Way, across: Position, height: Position) {
        let pose = way.pose;
        let from_entry = across >= pose.across;
        let from_above = height <= pose.height;
        if !from_entry || !from_above {
            let via_across = if from_entry {
                pose.across
            } else {
                (across - APPROACH).max(self.setup.mill.across.min)
            };
            let via_height = if from_above {
                pose.height
            } else {
                (height + APPROACH).min(self.setup.mill.height.max)
            };
            way.go_corner(via_across, via_height);
        }
        way.go_corner(across, height);
    }
}

/// Moves in the making, and where they lead.
struct Way {
    pose: Pose,
    moves: Between,
}

impl Way {
    const fn from(pose: &Pose) -> Self {
        Self {
            pose: *pose,
            moves: Vec::new(),
        }
    }

    fn go(&mut self, targets: Targets) {
        self.pose = self.pose.at(&targets);
        self.push(Move::Go(targets));
    }

    fn go_corner(&mut self, across: Position, height: Position) {
        let targets = Targets {
            travel: None,
            across: (across != self.pose.across).then_some(across),
            height: (height != self.pose.height).then_some(height),
        };
        if !targets.is_empty() {
            self.go(targets);
        }
    }

    /// There are never more: two to the start, two to the swing, two to the corner.
    fn push(&mut self, told: Move) {
        let _ = self.moves.push(told);
    }
}
