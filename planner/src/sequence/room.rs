//! Room between what stands fixed on the mill, bed, bunks, dogs and keep-out boxes, and what lies under the log.
//!
//! | what | keeps clear of |
//! |---|---|
//! | a swing | the bed and the bunks' tops, which it may touch; dogs and keep-out boxes, by the clearance of blade and head |
//! | a move in the air | bunks, dogs and keep-out boxes, by the same |
//! | either | packs, wedges and closed dogs, by the clearance of kerfs |
//! | a stroke | the head as in the air; the blade from keep-out boxes, and from dogs by the clearance of kerfs |
//!
//! Wood is no matter of this file.

#[cfg(test)]
mod tests;

use bunkside_protocol::mill::Bunk;
use bunkside_protocol::{Length, MillRecord, Position, Targets};

use crate::geometry::{Block, Interval};
use crate::machine::{Apart, Pose, blade_boxes, head_boxes, head_swing_boxes, outward, swing_boxes};
use crate::physics::dogs::meets;
use crate::physics::under::{self, Stands};
use crate::replay::Setup;

/// Most times that the blade is raised by what is missing before it is taken that there is no room: more than there may be
/// boxes on the bed.
const ROUNDS: usize = 32;

/// Something that stands fixed on the mill, with its number in the profile, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fixture {
    /// The bed.
    Bed,
    /// A bunk.
    Bunk(usize),
    /// What is packed on a bunk, with the bunk's number.
    Pack(usize),
    /// A wedge, with its bunk's number.
    Wedge(usize),
    /// A dog.
    Dog(usize),
    /// A keep-out box.
    KeepOut(usize),
}

impl From<Stands> for Fixture {
    fn from(stands: Stands) -> Self {
        match stands {
            Stands::Pack(number) => Self::Pack(number),
            Stands::Wedge(number) => Self::Wedge(number),
            Stands::Dog(number) => Self::Dog(number),
        }
    }
}

impl core::fmt::Display for Fixture {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, number) = match self {
            Self::Bed => return f.write_str("the bed"),
            Self::Bunk(number) => ("bunk", number),
            Self::Pack(number) => ("the pack on bunk", number),
            Self::Wedge(number) => ("a wedge at bunk", number),
            Self::Dog(number) => ("dog", number),
            Self::KeepOut(number) => ("keep-out box", number),
        };
        write!(f, "{name} {}", number.saturating_add(1))
    }
}

/// Something that is met, and how much higher the blade would have to be to pass over it.
#[derive(Clone, Copy, Debug)]
struct Met {
    fixture: Fixture,
    missing: Length,
}

/// What is looked at beside keep-out boxes and dogs, or instead of them.
#[derive(Clone, Copy)]
enum Among {
    All,
    Boxes,
    KeepOuts,
    Dogs,
}

/// The height at or above that of a pose at which the blade swings clear of everything.
pub(super) fn height_to_swing(setup: &Setup<'_>, pose: &Pose) -> Result<Position, Fixture> {
    raised(setup, pose, &|pose| swing_meets(setup, pose))
}

/// The height at or above that of a pose at which everything passes on the way to another place, clear of what stands fixed.
pub(super) fn height_to_pass(setup: &Setup<'_>, pose: &Pose, to: &Targets) -> Result<Position, Fixture> {
    raised(setup, pose, &|pose| move_meets(setup, pose, &pose.at(to)))
}

/// What a move in the air would meet.
pub(super) fn in_the_way(setup: &Setup<'_>, from: &Pose, to: &Pose) -> Option<Fixture> {
    move_meets(setup, from, to).map(|met| met.fixture)
}

/// What a stroke would meet.
pub(super) fn in_the_cut(setup: &Setup<'_>, from: &Pose, to: &Pose) -> Option<Fixture> {
    let (mill, body, bed) = (setup.mill, Apart::body(setup.mill), Apart::bed(setup.mill));
    let met = met(setup, &mut head_boxes(mill, from, to), body, Among::All)
        .or_else(|| met(setup, &mut blade_boxes(mill, from, to), body, Among::KeepOuts))
        .or_else(|| met(setup, &mut blade_boxes(mill, from, to), bed, Among::Dogs));
    met.map(|met| met.fixture)
}

/// The height from which no dog, no keep-out box and nothing that lies under the log is ever met, wherever the blade moves or
/// swings past the log's ends or passes over the log; none where there is nothing of these.
pub(super) fn free_from(setup: &Setup<'_>, ends: [Position; 2]) -> Option<Position> {
    let (mill, clearance) = (setup.mill, Apart::body(setup.mill));
    let heads = mill.head.iter().flatten().map(|part| part.min);
    let lowest = heads.map(|[.., height]| height.from_origin());
    let moving = lowest.fold(Length::ZERO, Length::min);
    let swinging = setup.swept.height.lo.from_origin().min(moving);
    let needed = |block: Block, clearance: Apart| {
        let at_end = |end: &Position| {
            let swept = setup.swept.placed(*end, Position::ZERO, Position::ZERO);
            swept.travel.grown(clearance.travel).overlaps(block.travel)
        };
        let lowest = if ends.iter().any(at_end) { swinging } else { moving };
        block.height.hi + clearance.height - lowest
    };
    let boxes = mill.dogs.iter().chain(&mill.keep_out).map(Block::from_record);
    let mut most = boxes.map(|block| needed(block, clearance)).max();
    under::each((mill, &setup.shape), Interval::ALL, &mut |_, block| {
        most = most.max(Some(needed(block, Apart::bed(mill))));
    });
    most
}

/// Raises a pose by what is missing until nothing is met any more.
fn raised(setup: &Setup<'_>, pose: &Pose, meets: &dyn Fn(&Pose) -> Option<Met>) -> Result<Position, Fixture> {
    let (mut pose, mut last) = (*pose, Fixture::Bed);
    for _ in 0..ROUNDS {
        let Some(met) = meets(&pose) else {
            return Ok(pose.height);
        };
        last = met.fixture;
        pose.height = outward(pose.height + met.missing, setup.mill.grid, true);
        if pose.height > setup.mill.height.max {
            break;
        }
    }
    Err(last)
}

fn swing_meets(setup: &Setup<'_>, pose: &Pose) -> Option<Met> {
    let mill = setup.mill;
    let swept = setup.swept.placed(pose.travel, pose.across, pose.height);
    let highest = mill.bunks.iter().map(|bunk| bunk.top).max();
    let over_bed =
        swept.height.lo >= highest.unwrap_or(Position::ZERO).max(Position::ZERO) + mill.height.play();
    if over_bed && in_air(setup, &mut core::iter::once(swept), Among::Boxes).is_none() {
        return None;
    }
    let mut parts = swing_boxes(mill, pose).chain(head_swing_boxes(mill, pose));
    let mut under: Option<Met> = None;
    let mut noting = parts.by_ref().inspect(|part| bed_under(mill, *part, &mut under));
    let boxes = in_air(setup, &mut noting, Among::Boxes);
    [under, boxes].into_iter().flatten().max_by_key(|met| met.missing)
}

fn move_meets(setup: &Setup<'_>, from: &Pose, to: &Pose) -> Option<Met> {
    let mill = setup.mill;
    let mut parts = blade_boxes(mill, from, to).chain(head_boxes(mill, from, to));
    in_air(setup, &mut parts, Among::All)
}

/// The same outside a cut, where what lies under the log counts too.
fn in_air(setup: &Setup<'_>, parts: &mut dyn Iterator<Item = Block>, among: Among) -> Option<Met> {
    let mut worst = None;
    let mut noting = parts.inspect(|part| under::note(setup, *part, &mut worst));
    let mut most = met(setup, &mut noting, Apart::body(setup.mill), among);
    if let Some(near) = worst {
        note(&mut most, near.what.into(), near.missing);
    }
    most
}

/// The bed or a bunk above the lowest of a box.
fn bed_under(mill: &MillRecord, part: Block, most: &mut Option<Met>) {
    let low = part.height.lo - mill.height.play();
    note(most, Fixture::Bed, Position::ZERO - low);
    for (number, bunk) in mill.bunks.iter().enumerate() {
        if span(bunk).overlaps(part.travel) {
            note(most, Fixture::Bunk(number), bunk.top - low);
        }
    }
}

/// That which parts of blade and head come nearer to than a clearance, and over which they would have to be raised most.
fn met(
    setup: &Setup<'_>,
    parts: &mut dyn Iterator<Item = Block>,
    clearance: Apart,
    among: Among,
) -> Option<Met> {
    let (mill, shape) = (setup.mill, &setup.shape);
    let mut most = None;
    for part in parts {
        let part = part.apart(clearance);
        let mut meet = |fixture: Fixture, block: Block| {
            if part.overlaps(block) {
                note(&mut most, fixture, block.height.hi - part.height.lo);
            }
        };
        if matches!(among, Among::All) {
            for (number, bunk) in mill.bunks.iter().enumerate() {
                let block = Block {
                    travel: span(bunk),
                    across: Interval::ALL,
                    height: Interval::new(Position::MIN, bunk.top),
                };
                meet(Fixture::Bunk(number), block);
            }
        }
        if !matches!(among, Among::KeepOuts) {
            for (number, dog) in mill.dogs.iter().enumerate() {
                if meets(dog, shape, part) {
                    let height = Block::from_record(dog).height;
                    meet(Fixture::Dog(number), Block { height, ..part });
                }
            }
        }
        if !matches!(among, Among::Dogs) {
            for (number, kept) in mill.keep_out.iter().enumerate() {
                meet(Fixture::KeepOut(number), Block::from_record(kept));
            }
        }
    }
    most
}

/// Keeps that over which more is missing; nothing where nothing is.
fn note(most: &mut Option<Met>, fixture: Fixture, missing: Length) {
    let before = most.map_or(Length::ZERO, |met| met.missing);
    if missing > before {
        *most = Some(Met { fixture, missing });
    }
}

fn span(bunk: &Bunk) -> Interval {
    Interval::new(bunk.travel - bunk.half_size, bunk.travel + bunk.half_size)
}
