//! Getting the carriage where the next stroke begins.

use bunkside_protocol::{Angle, Length, Move, Position, Stroke, Targets};

use super::{Done, PlanErrorKind, Sequencer};
use crate::geometry::{Interval, scale};
use crate::limits::APPROACH;
use crate::machine::{run_out, swing_boxes};
use crate::replay::Setup;

/// Where strokes start and end: a blade's radius and the clearance past the log's ends, so that swings and
/// positioning there are clear of the log; where the rails are too short for that, the blade's chord at full cover.
pub(super) fn ends(setup: &Setup<'_>) -> Result<(Position, Position), PlanErrorKind> {
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

impl Sequencer<'_, '_> {
    /// Brings the carriage, empty, to the end where a stroke starts.
    pub(super) fn ready(&mut self, stroke: Stroke) -> Done {
        let start = match stroke {
            Stroke::Outbound => self.near,
            Stroke::Homebound => self.far,
        };
        let pose = self.pose();
        if pose.travel == start {
            return Ok(());
        }
        if Interval::between(pose.travel, start).overlaps(self.setup.shape.travel()) {
            let over = self.over_log()?;
            if over > pose.height {
                self.emit(&Move::Go(Targets {
                    height: Some(over),
                    ..Targets::default()
                }))?;
            }
        }
        self.emit(&Move::Go(Targets::travel(start))).map(|_| ())
    }

    /// The lowest height at which everything passes over what stands.
    fn over_log(&self) -> Result<Position, PlanErrorKind> {
        let mill = self.setup.mill;
        let top = self
            .replay
            .stock()
            .top(&self.setup.shape)
            .unwrap_or(Position::ZERO);
        let margin = self.setup.shape.between() + mill.clearances.body;
        let needed = outward(top + margin + mill.grid, mill.grid, true);
        if needed <= mill.height.max {
            Ok(needed)
        } else {
            Err(PlanErrorKind::NoWayOver { needed })
        }
    }

    /// Swings the blade, raised first where the sweep would go below the bed.
    pub(super) fn swing(&mut self, angle: Angle) -> Done {
        let pose = self.pose();
        if pose.angle == angle {
            return Ok(());
        }
        let mill = self.setup.mill;
        let lowest = swing_boxes(mill, &pose)
            .map(|block| block.height.lo)
            .min()
            .unwrap_or(pose.height);
        if lowest < Position::ZERO {
            let raised = outward(pose.height + (Position::ZERO - lowest), mill.grid, true);
            if raised > mill.height.max {
                return Err(PlanErrorKind::NoRoomToSwing);
            }
            self.emit(&Move::Go(Targets {
                height: Some(raised),
                ..Targets::default()
            }))?;
        }
        self.emit(&Move::Swing(angle)).map(|_| ())
    }

    /// Sets the corner, always coming from the entry side and from above, so that play in the drives lies one way.
    pub(super) fn corner(&mut self, across: Position, height: Position) -> Done {
        let pose = self.pose();
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
            self.go_corner(via_across, via_height)?;
        }
        self.go_corner(across, height)
    }

    fn go_corner(&mut self, across: Position, height: Position) -> Done {
        let pose = self.pose();
        let targets = Targets {
            travel: None,
            across: (across != pose.across).then_some(across),
            height: (height != pose.height).then_some(height),
        };
        if targets.is_empty() {
            Ok(())
        } else {
            self.emit(&Move::Go(targets)).map(|_| ())
        }
    }

    /// Brings the carriage home at the end of a job.
    pub(super) fn park(&mut self) -> Done {
        if self.pose().travel == self.near {
            Ok(())
        } else {
            self.ready(Stroke::Outbound)
        }
    }
}
