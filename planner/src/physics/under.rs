//! What stands under a log and beside it, and how near blade and head come to it when they cut nothing.
//!
//! A pack lies across its whole bunk and reaches up to the log; a wedge fills a box from its contact outward by its reach, up
//! to its top; a dog fills what lies between its box and the log on which it closes. They stay where they are when the
//! wood over them is gone. Everything is kept from them that a kerf has to keep from them.

use bunkside_protocol::{Length, MillRecord, Position};

use super::dogs::filled;
use super::wedges;
use crate::geometry::{Block, Interval, Shape};
use crate::machine::Apart;
use crate::replay::Setup;

/// Something under the log, with the number of its bunk or its own in the profile, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    /// What is packed on a bunk.
    Pack(usize),
    /// A wedge at a bunk.
    Wedge(usize),
    /// A closed dog.
    Dog(usize),
}

impl core::fmt::Display for Stands {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, number) = match self {
            Self::Pack(number) => ("the pack on bunk", number),
            Self::Wedge(number) => ("a wedge at bunk", number),
            Self::Dog(number) => ("dog", number),
        };
        write!(f, "{name} {}", number.saturating_add(1))
    }
}

/// Something that a part of blade or head comes too near to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Near {
    /// What it is.
    pub what: Stands,
    /// How much further off the part would have to be, aside, up or along, whichever is least.
    pub by: Length,
    /// How much higher it would have to be.
    pub missing: Length,
}

/// Visits all that stands on a stretch of the rails.
pub(crate) fn each(
    (mill, shape): (&MillRecord, &Shape),
    along: Interval,
    visit: &mut dyn FnMut(Stands, Block),
) {
    for (number, bunk) in mill.bunks.iter().enumerate() {
        let travel = Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size);
        if !travel.overlaps(along) {
            continue;
        }
        let Some(foot) = wedges::foot(bunk, shape) else {
            continue;
        };
        let up_to = |top: Position, across: Interval| Block {
            travel,
            across,
            height: Interval::new(Position::MIN, top),
        };
        if foot > bunk.top {
            visit(Stands::Pack(number), up_to(foot, Interval::ALL));
        }
        let Some(met) = wedges::at(mill, bunk, shape) else {
            continue;
        };
        let (top, reach) = (foot + mill.wedges.height, mill.wedges.reach);
        for (lo, hi) in [(met.lo - reach, met.lo), (met.hi, met.hi + reach)] {
            visit(Stands::Wedge(number), up_to(top, Interval::new(lo, hi)));
        }
    }
    for (number, dog) in mill.dogs.iter().enumerate() {
        if Block::from_record(dog).travel.overlaps(along) {
            visit(Stands::Dog(number), filled(dog, shape));
        }
    }
}

/// The highest that anything under the log stands; as low as can be where there is nothing.
pub(crate) fn highest(mill: &MillRecord, shape: &Shape) -> Position {
    let mut highest = Position::MIN;
    each((mill, shape), Interval::ALL, &mut |_, block| {
        highest = highest.max(block.height.hi);
    });
    highest
}

/// Whether a box, or any in it, may come too near to anything under the log.
#[must_use]
pub fn is_near(setup: &Setup<'_>, part: Block) -> bool {
    let mut worst = None;
    note(setup, part, &mut worst);
    worst.is_some()
}

/// Keeps that under the log to which a part of blade or head comes too near, if it would have to be raised more over it than
/// over what was kept.
pub fn note(setup: &Setup<'_>, part: Block, worst: &mut Option<Near>) {
    let part = part.apart(Apart::bed(setup.mill));
    if part.height.lo >= setup.under {
        return;
    }
    each((setup.mill, &setup.shape), part.travel, &mut |what, block| {
        let shared = part.meet(block);
        if shared.is_empty() {
            return;
        }
        let aside = (part.across.hi - block.across.lo).min(block.across.hi - part.across.lo);
        let along = (part.travel.hi - block.travel.lo).min(block.travel.hi - part.travel.lo);
        let missing = block.height.hi - part.height.lo;
        if worst.is_none_or(|worst| worst.missing < missing) {
            let by = missing.min(aside).min(along);
            *worst = Some(Near { what, by, missing });
        }
    });
}
