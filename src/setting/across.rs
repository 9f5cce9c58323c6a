//! How far a log is shifted across the bed so that the blade's corner gets wherever its boards need it.

use bunkside_planner::replay::Setup;
use bunkside_protocol::mill::Axis;
use bunkside_protocol::{Length, LogRecord, MillRecord, Move, Position};

use crate::job::Job;
use crate::planned::{by_habit, lay_out};

/// An axis that goes further than any log reaches.
const ANYWHERE: [Position; 2] = [Position::mm(-20_000), Position::mm(20_000)];

/// The `offset` nearest to a job's with which its log can be laid out and sawn by rule of thumb within the across axis, in whole
/// millimetres or eighths of an inch; none where that does not do.
#[must_use]
pub fn offset_within(job: &Job) -> Option<Length> {
    let axis = job.mill.across;
    let (lo, hi) = corners(job)?;
    let (low, high) = (axis.min - lo, hi - axis.max);
    let step = if job.inches { 3_175 } else { 1_000 };
    let offset = job.setting.offset.wide();
    let offset = match (low > Length::ZERO, high > Length::ZERO) {
        (true, false) => -(-(offset + low.wide())).div_euclid(step) * step,
        (false, true) => (offset - high.wide()).div_euclid(step) * step,
        _ => return None,
    };
    let offset = Length::um(offset);
    let log = shifted(&job.log, offset - job.setting.offset);
    let setup = Setup::new(&job.mill, &log).ok()?;
    let plan = lay_out(job, &setup).ok()?;
    by_habit(job, &setup, &plan).ok().map(|_| offset)
}

/// From where to where the corner goes across in the cuts of a job, were its axis as long as they need.
fn corners(job: &Job) -> Option<(Position, Position)> {
    let [min, max] = ANYWHERE;
    let mill = MillRecord {
        across: Axis {
            min,
            max,
            ..job.mill.across
        },
        ..job.mill.clone()
    };
    let setup = Setup::new(&mill, &job.log).ok()?;
    let plan = lay_out(job, &setup).ok()?;
    let mut across = min;
    let mut reached: Option<(Position, Position)> = None;
    for told in by_habit(job, &setup, &plan).ok()? {
        match told {
            Move::Go(targets) => across = targets.across.unwrap_or(across),
            Move::Cut(_) => {
                let (lo, hi) = reached.unwrap_or((across, across));
                reached = Some((lo.min(across), hi.max(across)));
            }
            Move::Swing(_) | Move::Spin(_) | Move::Hold(_) => {}
        }
    }
    reached
}

/// A log, with the metal in it, further towards the exit side.
fn shifted(log: &LogRecord, by: Length) -> LogRecord {
    let mut log = log.clone();
    for station in &mut log.stations {
        station.centre_across = station.centre_across + by;
    }
    for metal in &mut log.metal {
        for corner in [&mut metal.min, &mut metal.max] {
            corner[1] = corner[1] + by;
        }
    }
    log
}
