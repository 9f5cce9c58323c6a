//! Where in a layer a board without wane has room.

use bunkside_protocol::{Length, MillRecord, Position};

use crate::geometry::Interval;
use crate::plan::End;
use crate::replay::Setup;

/// Where a board of some length has room across, and the end it is measured from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    pub(super) across: Interval,
    pub(super) end: End,
}

/// The part of the log that boards may come from: all but the trim at both ends.
pub(super) fn usable(setup: &Setup<'_>, end_trim: Length) -> Interval {
    let log = setup.shape.travel();
    Interval::new(log.lo + end_trim, log.hi - end_trim)
}

/// The room across for a board that fills a height, measured from whichever end has more of it; none where a board
/// of this length has none.
pub(super) fn room(setup: &Setup<'_>, usable: Interval, height: Interval, length: Length) -> Option<Room> {
    if length > usable.length() || height.is_empty() {
        return None;
    }
    let near = clear(setup, Interval::new(usable.lo, usable.lo + length), height);
    let far = clear(setup, Interval::new(usable.hi - length, usable.hi), height);
    let wider = |room: Option<Interval>| room.map_or(Length::ZERO, Interval::length);
    let (across, end) = if wider(far) > wider(near) {
        (far?, End::Far)
    } else {
        (near?, End::Near)
    };
    Some(Room { across, end })
}

/// Where the faces of a board may lie across, so that the corner of each kerf is within its axis: the kerf on the exit side
/// ends a kerf beyond the board, and is rounded up to the grid.
pub(super) fn axis(mill: &MillRecord) -> Interval {
    Interval::new(mill.across.min, mill.across.max - mill.blade.kerf - mill.grid)
}

/// What every section of a stretch holds at both edges of a height, less what lies hidden between samples, where the blade
/// gets to.
fn clear(setup: &Setup<'_>, travel: Interval, height: Interval) -> Option<Interval> {
    let (mut held, axis) = (Interval::ALL, axis(setup.mill));
    let missing = setup.shape.any_within(travel, false, |section| {
        for edge in [height.lo + Length::um(1), height.hi - Length::um(1)] {
            match section.chord(edge) {
                Some(chord) => held = held.meet(chord),
                None => return true,
            }
        }
        false
    });
    let between = setup.shape.between();
    let held = Interval::new(held.lo + between, held.hi - between).meet(axis);
    (!missing && !held.is_empty()).then_some(held)
}

/// The highest place of the log's wood.
pub(super) fn top(setup: &Setup<'_>) -> Position {
    setup
        .shape
        .wood()
        .iter()
        .map(|section| section.height().hi)
        .max()
        .unwrap_or(Position::ZERO)
}
