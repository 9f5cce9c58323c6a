//! Where the wedges stand that hold the log on its bunks.
//!
//! They stand on what carries the log: on the bunk, or on what is packed on it under the log. A bunk between that is left
//! open while the log is set is packed up to it afterwards, and wedged upon that: nothing there stands higher than on one
//! that was packed at once. A wedge meets the log at its reach from the lowest line, or nearer where its own height is met
//! first, and is taken to reach from there outward by its reach.
//!
//! Where the log lies on a face that was sawn before, and which is as wide as wedges would stand apart, it needs none.
//!
//! ```text
//!        \            log             /
//!         \                          /
//!     ____/`-.____            ____.-'\____    the wedges' tops: foot + height
//!    |wedge|_____ `---------' _____|wedge|
//!    |________________pack_______________|    foot: the log's underside, or the bunk's top where it lies on it
//!    |________________bunk_______________|
//! ```

use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Length, MillRecord, Position};

use super::support::packing;
use crate::geometry::{Interval, Section, Shape};

/// On what the wedges of a bunk stand: its top, or the pack on it, which reaches up to the log; none for a bunk that is not
/// under the log.
#[must_use]
pub fn foot(bunk: &Bunk, shape: &Shape) -> Option<Position> {
    packing(bunk, shape).map(|packed| bunk.top + packed.max(Length::ZERO))
}

/// The highest point of the wedges of a bunk; none where there are none.
#[must_use]
pub fn top(mill: &MillRecord, bunk: &Bunk, shape: &Shape) -> Option<Position> {
    let foot = foot(bunk, shape)?;
    at(mill, bunk, shape).map(|_| foot + mill.wedges.height)
}

/// Between which places across the wedges of a bunk stand; none for a bunk without wedges, or that is not under the log.
#[must_use]
pub fn at(mill: &MillRecord, bunk: &Bunk, shape: &Shape) -> Option<Interval> {
    if mill.wedges.reach <= Length::ZERO || !shape.travel().contains(bunk.travel) {
        return None;
    }
    let section = shape.rough_at(bunk.travel)?;
    flat(mill, shape, bunk.travel)
        .is_none()
        .then(|| contacts(mill, &section))
}

/// The sawn face that carries the log at a place along the rails without wedges: one that reaches as far out on both sides as
/// wedges would meet the log. Bark that a face has grazed carries nothing.
#[must_use]
pub fn flat(mill: &MillRecord, shape: &Shape, travel: Position) -> Option<Interval> {
    if !shape.is_sawn() {
        return None;
    }
    let under = shape.wood_at(travel)?.underside();
    let met = contacts(mill, &shape.rough_at(travel)?);
    (under.lo <= met.lo && met.hi <= under.hi && !under.is_empty()).then_some(under)
}

/// Where across a section of the log, over bark, meets wedges that stand on its lowest line's height: on the entry side and
/// on the exit side.
#[must_use]
pub fn contacts(mill: &MillRecord, section: &Section) -> Interval {
    let middle = section.lowest_across();
    let reach = mill.wedges.reach.max(Length::ZERO);
    let (_, half_height, _) = section.half_diameters();
    let top = section.height().lo + mill.wedges.height.clamp(Length::ZERO, half_height);
    let chord = section.chord(top).unwrap_or(Interval::new(middle, middle));
    Interval::new(
        chord.lo.max(middle - reach).min(middle),
        chord.hi.min(middle + reach).max(middle),
    )
}
