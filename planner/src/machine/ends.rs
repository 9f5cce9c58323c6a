//! How far past the log's ends the carriage can stand.

use bunkside_protocol::{Length, MillRecord, Position};

use super::{Apart, Pose, head_boxes, run_out};
use crate::geometry::{Interval, scale};
use crate::limits::APPROACH;

/// How far blade or head reach along the rails from the blade's centre, however the blade stands.
#[must_use]
pub fn reach_along(mill: &MillRecord) -> Length {
    let heads = mill.head.iter().flatten().map(|head| {
        let [lo, _, _] = head.min;
        let [hi, _, _] = head.max;
        hi.from_origin().max(-lo.from_origin())
    });
    heads.fold(mill.blade.radius, Length::max)
}

/// How far blade and head stand past the log's nearer end, the nearest of them; less than nothing where they reach over it.
#[must_use]
pub fn from_end(mill: &MillRecord, pose: &Pose, log: Interval) -> Length {
    let radius = mill.blade.radius;
    let disc = Interval::new(pose.travel - radius, pose.travel + radius);
    let heads = head_boxes(mill, pose, pose).map(|part| part.travel);
    let past = |part: Interval| (log.lo - part.hi).max(part.lo - log.hi);
    heads.map(past).fold(past(disc), Length::min)
}

/// How far past the log's ends strokes start and end: where blade and head are clear of the log by twice the clearance;
/// on rails that are too short for that, where nothing of the blade is left in a cut at full cover.
///
/// # Errors
///
/// By how much the rails are too short for either.
pub fn ends_beyond(mill: &MillRecord, log: Interval) -> Result<Length, Length> {
    let [flat, upright] = mill.reach.cover;
    let least = run_out(mill, flat.max(upright));
    let wide = reach_along(mill) + Apart::body(mill).travel.times(2);
    let mut missing = Length::ZERO;
    for beyond in [wide.max(least), least] {
        let (near, far) = places(mill, log, beyond);
        let rails = rails(mill);
        missing = (rails.lo - near).max(far - rails.hi);
        if missing <= Length::ZERO {
            return Ok(beyond);
        }
    }
    Err(missing)
}

/// The grid places at or beyond so far past the log's ends.
#[must_use]
pub fn places(mill: &MillRecord, log: Interval, beyond: Length) -> (Position, Position) {
    let near = Position::um(log.lo.wide() - beyond.wide());
    let far = Position::um(log.hi.wide() + beyond.wide());
    (outward(near, mill.grid, false), outward(far, mill.grid, true))
}

/// The rails, short of what a carriage at full feed needs to stop on.
fn rails(mill: &MillRecord) -> Interval {
    let speed = i64::from(mill.power.feed_max.as_um_per_s());
    let stopping = Length::um(scale(
        speed,
        speed,
        2 * i64::from(mill.travel.acceleration.max(1)),
    ));
    Interval::new(mill.travel.min + stopping, mill.travel.max - stopping)
}

/// From how far away a target is approached when the way leads there from the wrong side: whole steps of the grid, so that a
/// way from there is on the grid where its target is.
#[must_use]
pub fn come_back(mill: &MillRecord) -> Length {
    outward(Position::ZERO + APPROACH, mill.grid, true).from_origin()
}

/// The grid place at or beyond a place: upward, or downward.
#[must_use]
pub fn outward(place: Position, grid: Length, up: bool) -> Position {
    let snapped = place.snapped(grid);
    if up && snapped < place {
        snapped + grid
    } else if !up && snapped > place {
        snapped - grid
    } else {
        snapped
    }
}
